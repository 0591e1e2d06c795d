"""Migrations that rebuild tables: rows survive them, and the database's own guards stand afterwards."""

import hashlib

import pytest
from django.core.management import call_command
from django.utils import timezone

from gymtrack.lib import guards
from gymtrack.lib.keys import derived_key, keyed_digest
from skills.models import Attempt, FloorAct
from tests.factories.skills import library, log
from tests.helpers.floor import enrolled, held


@pytest.mark.django_db(transaction=True)
def test_tables_with_rows_can_be_rebuilt(coach, athlete):
    library(coach.gym)
    attempt = log(coach, athlete, "pullover-1", 5)
    call_command("migrate", "skills", "0001", verbosity=0)
    call_command("migrate", verbosity=0)
    assert Attempt.objects.get().id == attempt.id
    assert guards.guards_stand(databases=["default"]) == []


@pytest.mark.django_db(transaction=True)
def test_plain_digests_of_what_tablets_sent_are_put_under_the_key_once(owner, coach, settings):
    plain = hashlib.sha256(b"a note").hexdigest()
    now = timezone.now()
    FloorAct.objects.create(
        gym=coach.gym,
        hand_over=held(enrolled(owner), coach),
        kind="attempt",
        digest=plain,
        device_at=now,
        happened_at=now,
        offset_ms=0,
    )
    key = derived_key(settings.AUDIT_KEY, "digests of acts of the floor")
    for _ in range(2):
        call_command("migrate", "skills", "0005", verbosity=0)
        call_command("migrate", verbosity=0)
        digest = FloorAct.objects.get().digest
        assert (digest, len(digest)) == (keyed_digest(plain, key), 64)
    assert guards.guards_stand(databases=["default"]) == []
