"""Erasing somebody from a shell."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from athletes.models import AuditEntry, Person, Remark
from gymtrack.lib.scrub import compact, empty_log


@pytest.fixture(autouse=True)
def data_folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path


def erase(*arguments: str) -> str:
    said = StringIO()
    call_command("erase", *arguments, stdout=said)
    return said.getvalue()


def test_without_yes_it_only_says_who_it_would_be(gym, owner, athlete):
    assert erase("--gym", "harbour", "--athlete", str(athlete.number)).startswith("It would be A. L., person ")
    assert Person.objects.get(pk=athlete.person_id).full_name == "Ada Lindqvist"


@pytest.mark.parametrize("by_number", [True, False])
def test_with_yes_it_is_done_and_what_is_out_of_reach_is_said(gym, owner, athlete, by_number):
    whom = ["--athlete", str(athlete.number)] if by_number else ["--person", str(athlete.person_id)]
    assert "Backups, printed pages" in erase("--gym", "harbour", *whom, "--yes")
    assert Person.objects.get(pk=athlete.person_id).erased_at
    assert AuditEntry.objects.get(act="erased").actor is None
    with pytest.raises(CommandError, match="knows nobody like that"):
        erase("--gym", "harbour", *whom, "--yes")


def test_nobody_of_another_gym_is_found(other_gym, owner, athlete):
    with pytest.raises(CommandError, match="knows nobody like that"):
        erase("--gym", "uptown", "--person", str(athlete.person_id), "--yes")


def test_a_refusal_is_the_answer(gym, owner):
    with pytest.raises(CommandError, match="only owner"):
        erase("--gym", "harbour", "--person", str(owner.person_id), "--yes")


@pytest.mark.django_db(transaction=True)
def test_the_database_is_compacted_outside_of_a_transaction():
    assert compact([Remark._meta.db_table]) == ""
    assert empty_log()


def test_inside_a_transaction_nothing_is_compacted_and_the_reason_is_said(db):
    assert compact([Remark._meta.db_table]) != ""
