"""`manage.py export_month`: the page's bytes, and one sentence for what is wrong."""

from datetime import UTC, datetime
from io import BytesIO, StringIO, TextIOWrapper

import pytest
import time_machine
from django.core.management import CommandError, call_command

from skills.core.month import Month
from tests.factories.months import Cast, deal
from tests.factories.skills import library

OCTOBER = Month(2026, 10)


@pytest.fixture(autouse=True)
def _november():
    with time_machine.travel(datetime(2026, 11, 2, 12, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def filled(owner, coach, athlete):
    library(owner.gym, owner)
    within = OCTOBER.bounds("Europe/Berlin")
    deal(Cast(owner.gym, [athlete], [coach], [coach]), seed=1, within=within, attempts=30)
    return owner.gym


def export(*arguments: str) -> bytes:
    """What the command writes to a terminal that has another encoding and other line ends than the file."""
    written = BytesIO()
    with TextIOWrapper(written, encoding="latin-1", newline="\r\n") as terminal:
        call_command("export_month", *arguments, stdout=terminal)
        return written.getvalue()


def test_file_and_terminal_get_the_bytes_of_the_page(client_of, filled, owner, tmp_path):
    page = client_of(owner).get("/month/2026-10.csv").content
    assert page.count(b"\r\n") == 6  # columns, gym, one skill, one coach, no coach, the audit chain
    path = tmp_path / "october.csv"
    assert export("2026-10", "--gym", "harbour", "--output", str(path)) == b""
    assert export("2026-10", "--gym", "harbour") == path.read_bytes() == page


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["2026-13", "--gym", "harbour"], "“2026-13” is no month: write it like 2026-11."),
        (["october", "--gym", "harbour"], "“october” is no month: write it like 2026-11."),
        (["2026-12", "--gym", "harbour"], "2026-12 has not begun yet: this month is 2026-11."),
        (["2026-10", "--gym", "harbor"], "There is no gym 'harbor'; there is: harbour."),
    ],
)
def test_what_is_wrong_is_one_sentence_and_exit_code_one(gym, arguments, sentence):
    terminal = StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("export_month", *arguments, stdout=terminal)
    assert (str(refused.value), refused.value.returncode, terminal.getvalue()) == (sentence, 1, "")


def test_file_that_cannot_be_written_is_named(gym, tmp_path):
    path = tmp_path / "nowhere" / "october.csv"
    with pytest.raises(CommandError, match="cannot be written: No such file or directory") as refused:
        export("2026-10", "--gym", "harbour", "--output", str(path))
    assert str(path) in str(refused.value)


def test_month_that_begins_in_the_gym_s_zone_first_can_be_exported(gym):
    # 31 October, 23:30 in UTC; in Berlin it is November already.
    with time_machine.travel(datetime(2026, 10, 31, 23, 30, tzinfo=UTC), tick=False):
        assert b"2026-11,gym,Harbour Hall,0," in export("2026-11", "--gym", "harbour")
