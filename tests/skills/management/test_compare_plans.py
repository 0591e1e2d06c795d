"""`manage.py compare_plans`: the table of a month, the one in the README, and a sentence for what is not there."""

import re
from datetime import UTC, datetime
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command

from tests.factories.class_plans import make_hall, make_measured
from tests.factories.skills import library, start_class

SEPTEMBER = datetime(2026, 9, 14, 16, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _october():
    with time_machine.travel(datetime(2026, 10, 2, 12, tzinfo=UTC), tick=False):
        yield


def compare(*arguments: str) -> list[str]:
    out = StringIO()
    call_command("compare_plans", *arguments, stdout=out)
    return out.getvalue().splitlines()


@pytest.fixture
def two_classes(owner, coach, athlete, minor):
    """One of two people in September, and one that is still running."""
    library(owner.gym, owner)
    make_measured(athlete)
    over, _ = (start_class(coach, athlete, minor, name=name) for name in ("Monday class", "Tuesday class"))
    over.starts_at, over.ended_at = SEPTEMBER, SEPTEMBER.replace(hour=17)
    over.save()
    return owner.gym


def test_a_month_is_told_way_by_way(two_classes):
    make_hall(two_classes)
    head, rule, *rows = compare("--month", "2026-09")
    assert head.startswith("| 2026-09, 1 class with 2 people in all | idle minutes |")
    assert rule == "| --- | ---: | ---: | ---: | ---: | ---: |"
    ways = [re.split(r"\s*\|\s*", row)[1] for row in rows]
    assert ways == ["planned", "first come", "first come, bars set anew at will", "fixed circuit"]
    assert compare() == compare("--gym", "harbour", "--month", "2026-09") == [head, rule, *rows]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--gym", "nowhere"], "There is no gym 'nowhere'; there is: harbour."),
        (["--month", "2026-13"], "“2026-13” is no month"),
        (["--month", "2026-08"], "No class with people in it was ended in 2026-08."),
        ([], "No station is described yet"),
    ],
)
def test_what_is_not_there_is_said(two_classes, arguments, sentence):
    with pytest.raises(CommandError, match=re.escape(sentence)):
        compare(*arguments)


def test_with_two_gyms_one_is_to_be_named(two_classes, other_gym):
    with pytest.raises(CommandError, match="Say which gym with --gym: harbour, uptown"):
        compare()
