"""What the database refuses: the tablet tries again, and the log says where, but not about whom."""

from io import StringIO

import pytest
from django.db import IntegrityError, connection, transaction

from athletes.models import Athlete, Person
from skills.models import FloorAct
from skills.services.floor import taking
from skills.services.floor.kinds import KINDS
from tests.helpers import canary
from tests.helpers.floor_acts import act_of, hold_body, receipt, refused
from tests.security.test_log_lines import assert_nobody_in, written  # noqa: F401 (a fixture)


def breaks(*_args: object) -> None:
    """Have the database refuse a row with a name in it, as a fault of the program would."""
    Person.objects.bulk_create([Person(full_name=canary.NAME, email=canary.MAIL)])  # of no gym


def test_the_databases_own_words_about_a_row_are_written_nowhere(
    *,
    device,
    klass,
    coach,
    monkeypatch,
    written: StringIO,  # noqa: F811 (the fixture)
) -> None:
    monkeypatch.setattr(taking, "KINDS", {**KINDS, "end": breaks})
    written.truncate(0)
    assert "tried again" in refused(device, act_of("end", coach, {"session": klass.id}), "trouble")
    lines = written.getvalue()
    assert "could not be stored" in lines
    assert "django.db.utils.IntegrityError" in lines
    assert_nobody_in(lines)


@pytest.mark.postgresql_only
def test_postgresql_would_have_told_the_name(athlete: Athlete) -> None:
    """Or the test above would show nothing: the error of that engine repeats the row that failed."""
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        breaks()
    assert connection.vendor == "postgresql"
    assert canary.NAME in str(refusal.value)


def test_an_act_that_the_database_refused_is_stored_when_it_is_sent_again(
    device, klass, coach, athlete, monkeypatch
) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    with monkeypatch.context() as broken:
        broken.setattr(taking, "KINDS", {**KINDS, "attempt": breaks})
        refused(device, act, "trouble")
    assert receipt(device, act)["status"] == "stored"
    assert FloorAct.objects.count() == 1
