"""Months through the API: the figures of the page and its CSV."""

import csv
import io
from typing import Any

import pytest
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from skills.core.month import Month
from skills.queries.months import month_csv
from tests.factories.skills import log, start_class
from tests.helpers.api import PROBLEM, Api, api_of


@pytest.fixture
def api(owner: Membership) -> Api:
    return api_of(owner)


def test_a_month_says_the_same_as_its_csv(
    api: Api, gym: Gym, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    session = start_class(coach, athlete, minor)
    for person, seconds in ((athlete, 5.2), (minor, 6.3), (athlete, 4.0)):
        log(coach, person, "pullover-1", seconds, session=session)
    month = Month.at(timezone.now(), gym.time_zone)
    told = api.get(f"months/{month}/").json()
    lines = [("gym", told["gym"])]
    lines += [("skill", line) for line in told["skills"]] + [("coach", line) for line in told["coaches"]]
    text = month_csv(gym, month).decode("utf-8-sig")
    assert told["month"] == str(month)
    assert [_figures(line) | {"scope": scope} for scope, line in lines] == [
        _figures(row) | {"scope": row["scope"]}
        for row in csv.DictReader(io.StringIO(text))
        if row["scope"] != "audit_chain"
    ]
    assert told["gym"] == {
        "name": "Harbour Hall",
        "active_athletes": 2,
        "sessions": 1,
        "attempts": 3,
        "hold_seconds": "15.5",
        "clean_attempts": 3,
        "clean_rate_percent": "100.0",
        "steps_opened": 0,
        "signed_off": 0,
        "not_yet": 0,
        "revoked": 0,
    }


def _figures(line: dict[str, Any]) -> dict[str, Any]:
    """Numbers as numbers: the API writes them as JSON does, the file as text."""
    names = {"name", "active_athletes", "sessions", "attempts", "hold_seconds", "clean_attempts", "clean_rate_percent"}
    return {name: _number(line[name]) for name in names}


def _number(value: Any) -> Any:
    try:
        return float(value)
    except (TypeError, ValueError):
        return value or None


def test_a_month_without_anything_has_no_rate(api: Api, gym: Gym) -> None:
    told = api.get("months/2025-02/").json()
    assert (told["gym"]["attempts"], told["gym"]["hold_seconds"], told["gym"]["clean_rate_percent"]) == (0, "0", None)
    assert (told["skills"], told["coaches"]) == ([], [])


@pytest.mark.parametrize(
    ("name", "words"), [("2026-13", "is no month"), ("soon", "is no month"), ("9999-12", "not begun")]
)
def test_what_is_no_month_is_not_there(api: Api, gym: Gym, name: str, words: str) -> None:
    answer = api.get(f"months/{name}/")
    assert (answer.status_code, answer.headers["Content-Type"]) == (404, PROBLEM)
    assert words in answer.json()["detail"]


def test_a_month_costs_the_same_whatever_happened_in_it(
    api: Api, coach: Membership, athlete: Athlete, django_assert_num_queries: Any
) -> None:
    this = Month.at(timezone.now(), athlete.gym.time_zone)
    for _ in range(3):
        log(coach, athlete, "pullover-1", 5.0)
        with django_assert_num_queries(8):
            api.get(f"months/{this}/")
