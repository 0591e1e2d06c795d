"""Migrations that rebuild tables: rows survive them, and the database's own guards stand afterwards."""

import pytest
from django.core.management import call_command

from gymtrack.lib import guards
from skills.models import Attempt
from tests.factories.skills import library, log


@pytest.mark.django_db(transaction=True)
def test_tables_with_rows_can_be_rebuilt(coach, athlete):
    library(coach.gym)
    attempt = log(coach, athlete, "pullover-1", 5)
    call_command("migrate", "skills", "0001", verbosity=0)
    call_command("migrate", verbosity=0)
    assert Attempt.objects.get().id == attempt.id
    assert guards.guards_stand(databases=["default"]) == []
