"""Attempts through the API: the receipt, the same id again, what is refused, lists, taking back."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, AuditEntry, Gym, Membership, Remark
from skills.models import Attempt
from tests.factories.skills import days_before_now, log, measure_angle, start_class
from tests.helpers.api import PROBLEM, Api, api_of, attempt_body, places, utc


@pytest.fixture
def api(coach: Membership) -> Api:
    return api_of(coach)


def put(api: Api, body: dict[str, Any], attempt_id: object = None) -> Any:
    return api.put(f"attempts/{attempt_id or uuid4()}/", body)


def days_ago(days: float) -> str:
    return days_before_now(days).isoformat()


# --- The receipt -----------------------------------------------------------------------------------------


def test_a_receipt_names_the_id_and_how_it_stands(api: Api, athlete: Athlete) -> None:
    attempt_id = uuid4()
    answer = put(api, attempt_body(athlete), attempt_id)
    row = Attempt.objects.get(pk=attempt_id)
    assert answer.status_code == 201
    assert answer.json() == {
        "id": str(attempt_id),
        "athlete": str(athlete.id),
        "step": "pullover-1",
        "recorded_at": utc(row.recorded_at),
        "closed_try": False,
        "standing": {
            "state": "working",
            "base": "working",
            "clearance": "",
            "awaits": "",
            "flags": [],
            "missing": "two more clean holds of 5 s, on another day",
        },
        "opened": [],
    }


def test_the_receipt_of_the_last_hold_says_what_it_opened(api: Api, athlete: Athlete) -> None:
    for days in (3, 3.01):
        put(api, attempt_body(athlete, happened_at=days_ago(days)))
    attempt_id, body = uuid4(), attempt_body(athlete)
    first, again = put(api, body, attempt_id), put(api, body, attempt_id)
    assert (first.json()["standing"]["state"], first.json()["standing"]["missing"]) == ("passed", "nothing")
    assert first.json()["opened"] == ["pullover-2", "pullover-3", "toes-2"]
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.content == first.content


def test_a_late_attempt_is_told_what_it_opened_as_long_as_it_is_sent(
    api: Api, coach: Membership, athlete: Athlete
) -> None:
    """It lay on the tablet since the day before yesterday, so the step opens at a moment that is not its own."""
    for days in (0.1, 0.2):
        log(coach, athlete, "pullover-1", 5.0, days_ago=days)
    attempt_id, body = uuid4(), attempt_body(athlete, happened_at=days_ago(2))
    first = put(api, body, attempt_id)
    assert first.json()["opened"] == ["pullover-2", "pullover-3", "toes-2"]
    log(coach, athlete, "pullover-2", 5.0)
    assert put(api, body, attempt_id).content == first.content


def test_what_a_later_fact_opened_is_not_the_first_ones_doing(api: Api, athlete: Athlete) -> None:
    attempt_id, body = uuid4(), attempt_body(athlete, happened_at=days_ago(3))
    put(api, body, attempt_id)
    for days in (2, 1):
        put(api, attempt_body(athlete, happened_at=days_ago(days)))
    again = put(api, body, attempt_id)
    assert (again.status_code, again.json()["opened"]) == (200, [])
    assert again.json()["standing"]["state"] == "passed"


# --- The same id again -----------------------------------------------------------------------------------


def test_the_same_content_written_otherwise_is_the_same(api: Api, athlete: Athlete) -> None:
    attempt_id, moment, faults = uuid4(), days_before_now(1).replace(microsecond=0), _faults(api)[:2]
    body = attempt_body(athlete, happened_at=moment.isoformat(), faults=faults, hold_seconds="5.29")
    in_utc = utc(moment)
    same = {**body, "happened_at": in_utc, "faults": [*reversed(faults), *faults], "hold_seconds": "5.2", "reps": 1}
    answers = [put(api, sent, attempt_id) for sent in (body, same)]
    assert [answer.status_code for answer in answers] == [201, 200]
    assert answers[0].content == answers[1].content


def _faults(api: Api) -> list[str]:
    steps = {step["code"]: step for step in api.get("skills/bar-pullover/").json()["steps"]}
    return [fault["code"] for fault in steps["pullover-1"]["faults"]]


@pytest.mark.parametrize(
    "change",
    [
        {"hold_seconds": "5.1"},
        {"reps": 2},
        {"source": "counted"},
        {"pain": True},
        {"note": "chalk"},
        {"note": ""},
        {"step": "pull-up-1"},
    ],
    ids=str,
)
def test_the_id_with_other_content_is_a_conflict_that_changes_nothing(
    api: Api, athlete: Athlete, change: dict[str, Any]
) -> None:
    attempt_id, body = uuid4(), attempt_body(athlete, note="quiet lats")
    first = put(api, body, attempt_id)
    answer = put(api, {**body, **change}, attempt_id)
    assert (answer.status_code, answer.headers["Content-Type"]) == (409, PROBLEM)
    assert answer.json() == {
        "type": "about:blank",
        "title": "Conflict",
        "status": 409,
        "detail": "This id was used before for an attempt with other content; nothing was changed.",
    }
    assert put(api, body, attempt_id).content == first.content
    assert (Attempt.objects.count(), Remark.objects.count()) == (1, 1)


def test_a_conflict_over_another_athlete(api: Api, athlete: Athlete, minor: Athlete) -> None:
    attempt_id, body = uuid4(), attempt_body(athlete)
    put(api, body, attempt_id)
    assert put(api, {**body, "athlete": str(minor.id)}, attempt_id).status_code == 409


def test_an_attempt_whose_note_was_erased_is_still_known(api: Api, athlete: Athlete) -> None:
    attempt_id, body = uuid4(), attempt_body(athlete, note="quiet lats")
    put(api, body, attempt_id)
    Remark.objects.update(text="", salt="")
    assert put(api, body, attempt_id).status_code == 200
    assert put(api, {**body, "note": ""}, attempt_id).status_code == 409


# --- What is refused -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "stored"),
    [
        ("5", "5"),
        ("5.0", "5"),
        ("5.2", "5.2"),
        ("5.29", "5.2"),
        ("19.99", "19.9"),
        ("0.19999", "0.1"),
        ("3600", "3600"),
    ],
)
def test_seconds_are_cut_to_tenths_and_never_rounded(api: Api, athlete: Athlete, written: str, stored: str) -> None:
    attempt_id = uuid4()
    assert put(api, attempt_body(athlete, hold_seconds=written), attempt_id).status_code == 201
    assert api.get(f"attempts/{attempt_id}/").json()["hold_seconds"] == stored


@pytest.mark.parametrize("written", ["", "5,2", "five", "-1", "1e3", "NaN", "3600.1", 5.2, 5, True, [], "9" * 41, "٥"])
def test_seconds_that_are_none_are_refused(api: Api, athlete: Athlete, written: object) -> None:
    answer = put(api, attempt_body(athlete, hold_seconds=written))
    assert places(answer).keys() == {"hold_seconds"}


def test_under_a_tenth_is_refused_by_the_rule_under_the_apis_own_name(api: Api, athlete: Athlete) -> None:
    answer = put(api, attempt_body(athlete, hold_seconds="0.09"))
    assert places(answer) == {"hold_seconds": "A hold lasts from 0.1 seconds to one hour."}


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("2026-03-02T18:05:00", "with its offset"),
        ("2026-03-02", "with its offset"),
        ("yesterday", "with its offset"),
        (1772470000, "with its offset"),
        (None, "may not be null"),
        ("2026-02-30T18:05:00Z", "no such moment"),
        ("2026-03-02T18:05:60Z", "no such moment"),
        ("0001-01-01T00:00:00+14:00", "between 1970 and 2199"),
        ("9999-12-31T23:59:59-12:00", "between 1970 and 2199"),
        ("2199-01-01T00:00:00Z", "in the future"),
        ("1970-01-01T00:00:00Z", "more than a year old"),
    ],
)
def test_a_moment_has_an_offset_and_lies_in_the_calendar(
    api: Api, athlete: Athlete, written: object, words: str
) -> None:
    answer = put(api, {**attempt_body(athlete), "happened_at": written})
    assert words in places(answer)["happened_at"]


def test_all_that_is_wrong_is_named_at_once(api: Api, athlete: Athlete) -> None:
    body = attempt_body(athlete, happened_at="now", source="gossip", reps=0, effort=11, faults=[{}], colour="red")
    assert places(put(api, body)).keys() == {"happened_at", "source", "reps", "effort", "faults.0", "colour"}


def test_all_that_the_rules_refuse_is_named_at_once(api: Api, athlete: Athlete) -> None:
    body = attempt_body(
        athlete, faults=["no-such"], missed=["nor-this"], variant="nor-that", grade=4, session=uuid4().hex
    )
    answer = put(api, body)
    assert places(answer) == {
        "grade": "This step has 0 grades.",
        "variant": "This step has no variant 'nor-that'.",
        "faults": "This step has no fault 'no-such'.",
        "missed": "This step has no checkpoint 'nor-this'.",
        "session": "There is no such session in this gym.",
    }
    assert answer.json()["detail"] == "The request has mistakes; `errors` names each place."
    assert not Attempt.objects.exists()


def test_an_angle_is_kept_where_the_step_says_which_one(api: Api, gym: Gym, athlete: Athlete) -> None:
    body, attempt_id = attempt_body(athlete, angle_degrees=90), uuid4()
    assert places(put(api, body)) == {"angle_degrees": "No angle is measured at this step: leave the degrees out."}
    measure_angle(gym, "pullover-1")
    assert places(put(api, {**body, "angle_degrees": 181})).keys() == {"angle_degrees"}
    assert put(api, body, attempt_id).status_code == 201
    assert api.get(f"attempts/{attempt_id}/").json()["angle_degrees"] == 90


def test_a_step_that_the_gym_has_not_is_named(api: Api, athlete: Athlete) -> None:
    answer = put(api, attempt_body(athlete, code="no-such-step"))
    assert places(answer) == {"step": "There is no such step in this gym."}


def test_a_closed_step_asks_for_a_reason_and_is_then_kept_as_a_try(api: Api, athlete: Athlete) -> None:
    body = attempt_body(athlete, code="pullover-2")
    assert places(put(api, body)).keys() == {"closed_reason"}
    answer = put(api, {**body, "closed_reason": "shows it every week elsewhere"})
    assert (answer.status_code, answer.json()["closed_try"]) == (201, True)


def test_a_refused_attempt_may_be_sent_again_when_it_is_mended(api: Api, athlete: Athlete) -> None:
    attempt_id = uuid4()
    assert put(api, attempt_body(athlete, reps=0), attempt_id).status_code == 422
    assert put(api, attempt_body(athlete, reps=1), attempt_id).status_code == 201


def test_who_logged_it_is_the_keys_member(api: Api, coach: Membership, athlete: Athlete) -> None:
    attempt_id = uuid4()
    put(api, attempt_body(athlete), attempt_id)
    assert api.get(f"attempts/{attempt_id}/").json()["logged_by"] == str(coach.id)
    assert AuditEntry.objects.get(about=attempt_id).actor == coach


# --- Lists -----------------------------------------------------------------------------------------------


def test_an_attempt_is_told_whole(api: Api, coach: Membership, athlete: Athlete) -> None:
    session = start_class(coach, athlete)
    moment = datetime.now(tz=UTC) - timedelta(minutes=3)
    fault = _faults(api)[0]
    attempt = log(coach, athlete, "pullover-1", 5.2, at=moment, session=session, faults=(fault,), effort=7, reps=3)
    assert api.get(f"attempts/{attempt.id}/").json() == {
        "id": str(attempt.id),
        "athlete": str(athlete.id),
        "step": "pullover-1",
        "session": str(session.id),
        "happened_at": utc(moment),
        "recorded_at": utc(attempt.recorded_at),
        "logged_by": str(coach.id),
        "source": "judged",
        "doubt": "",
        "hold_seconds": "5.2",
        "reps": 3,
        "unbroken": True,
        "assistance": "none",
        "variant": "",
        "faults": [fault],
        "missed": [],
        "effort": 7,
        "pain": False,
        "grade": 0,
        "angle_degrees": None,
        "closed_try": False,
        "clean": False,
        "voided_at": None,
    }


def ids(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.content
    return [row["id"] for row in answer.json()["results"]]


def test_attempts_are_filtered(api: Api, coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    session = start_class(coach, athlete)
    old = log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    other_step = log(coach, athlete, "pull-up-1", 5.0, days_ago=2)
    other_athlete = log(coach, minor, "pullover-1", 5.0, days_ago=1)
    in_session = log(coach, athlete, "pullover-1", 5.0, session=session)
    newest_first = [str(row.id) for row in (in_session, other_athlete, other_step, old)]
    assert ids(api.get("attempts/")) == newest_first
    assert ids(api.get("attempts/", athlete=athlete.id)) == [newest_first[0], *newest_first[2:]]
    assert ids(api.get("attempts/", step="pull-up-1")) == [str(other_step.id)]
    assert ids(api.get("attempts/", session=session.id)) == [str(in_session.id)]
    assert ids(api.get("attempts/", since=other_athlete.happened_at.isoformat())) == newest_first[:2]
    assert ids(api.get("attempts/", athlete=minor.id, session=session.id)) == []
    assert ids(api.get("attempts/", athlete=uuid4())) == []


@pytest.mark.parametrize(
    ("query", "place"),
    [
        ({"athlete": "x"}, "athlete"),
        ({"since": "2026-03-02T18:05:00"}, "since"),
        ({"since": "2026-03-02T18:05:00 02:00"}, "since"),
        ({"limit": "0"}, "limit"),
        ({"limit": "201"}, "limit"),
        ({"limit": "ten"}, "limit"),
        ({"after": "x"}, "after"),
        ({"after": "00000000-0000-4000-8000-000000000000"}, "after"),
        ({"atlete": "x"}, "atlete"),
    ],
    ids=str,
)
def test_a_bad_query_is_named(api: Api, query: dict[str, str], place: str) -> None:
    assert places(api.get("attempts/", **query)).keys() == {place}


def test_pages_hold_every_row_once_also_those_of_one_moment(api: Api, coach: Membership, athlete: Athlete) -> None:
    noon = timezone.now() - timedelta(days=2)
    for _ in range(5):
        log(coach, athlete, "pullover-1", 5.0, at=noon)
    log(coach, athlete, "pullover-1", 5.0, at=noon - timedelta(hours=1))
    log(coach, athlete, "pullover-1", 5.0, at=noon + timedelta(hours=1))
    whole = ids(api.get("attempts/"))
    paged = []
    answer = api.get("attempts/", limit=2, athlete=athlete.id)
    while True:
        paged += ids(answer)
        address = answer.json()["next"]
        if address is None:
            break
        assert f"athlete={athlete.id}" in address
        # A row that is added meanwhile is newer, and shifts nothing.
        log(coach, athlete, "pullover-1", 5.0)
        answer = api.get(address.removeprefix("http://testserver/api/v1/"))
    assert len(whole) == 7
    assert paged == whole


def test_a_page_that_is_just_full_has_no_next_one(api: Api, coach: Membership, athlete: Athlete) -> None:
    for _ in range(2):
        log(coach, athlete, "pullover-1", 5.0)
    assert api.get("attempts/", limit=2).json()["next"] is None
    assert api.get("attempts/", limit=1).json()["next"] is not None


@pytest.mark.parametrize("rows", [1, 3])
def test_a_list_costs_the_same_whatever_its_length(
    api: Api, coach: Membership, athlete: Athlete, django_assert_num_queries: DjangoAssertNumQueries, rows: int
) -> None:
    for days in range(rows):
        log(coach, athlete, "pullover-1", 4.0, days_ago=days)
    with django_assert_num_queries(2):  # the key, the rows
        assert len(ids(api.get("attempts/"))) == rows


@pytest.mark.parametrize("history", [1, 30])
def test_storing_costs_the_same_whatever_the_history(
    api: Api, coach: Membership, athlete: Athlete, django_assert_num_queries: DjangoAssertNumQueries, history: int
) -> None:
    """The key, what `log_attempt` asks, and what the receipt tells: the timelines and the facts on the step."""
    for days in range(history):
        log(coach, athlete, "pullover-1", 4.0, days_ago=days + 1)
    attempt_id, body = uuid4(), attempt_body(athlete, hold_seconds="4.0")
    api.get("skills/bar-pullover/")
    with django_assert_num_queries(1 + 15 + 6):
        assert put(api, body, attempt_id).status_code == 201
    with django_assert_num_queries(18):
        assert put(api, body, attempt_id).status_code == 200


# --- Taking back -----------------------------------------------------------------------------------------


def test_an_attempt_is_taken_back_once_with_a_reason(api: Api, coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.0)
    assert places(api.post(f"attempts/{attempt.id}/void/", {})).keys() == {"reason"}
    assert places(api.post(f"attempts/{attempt.id}/void/", {"reason": "  "})).keys() == {"reason"}
    answer = api.post(f"attempts/{attempt.id}/void/", {"reason": "wrong athlete"})
    assert (answer.status_code, answer.json()["id"]) == (200, str(attempt.id))
    assert answer.json()["voided_at"] is not None
    assert api.get("attempts/").json()["results"][0]["voided_at"] == answer.json()["voided_at"]
    again = api.post(f"attempts/{attempt.id}/void/", {"reason": "wrong athlete"})
    assert (again.status_code, again.json()["detail"]) == (409, "This attempt was taken back before.")


def test_sending_a_taken_back_attempt_again_does_not_bring_it_back(api: Api, athlete: Athlete) -> None:
    attempt_id, body = uuid4(), attempt_body(athlete, note="quiet lats")
    put(api, body, attempt_id)
    api.post(f"attempts/{attempt_id}/void/", {"reason": "quiet lats"})
    assert put(api, body, attempt_id).status_code == 200
    assert api.get(f"attempts/{attempt_id}/").json()["voided_at"] is not None
