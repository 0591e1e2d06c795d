"""Training sessions through the API."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, Gym, Membership
from skills.models import Attendance, TrainingSession
from skills.services.sessions import start_session
from tests.factories.athletes import make_athlete
from tests.factories.skills import start_class
from tests.helpers.api import Api, api_of, places, utc


@pytest.fixture
def api(coach: Membership) -> Api:
    return api_of(coach)


def test_a_session_is_started_run_and_ended(api: Api, coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    answer = api.post("sessions/", {"name": "Monday class", "focus": "pullover-3"})
    session = TrainingSession.objects.get()
    whole: dict[str, Any] = {
        "id": str(session.id),
        "name": "Monday class",
        "coach": str(coach.id),
        "coach_name": "Cleo Adeyemi",
        "starts_at": utc(session.starts_at),
        "ended_at": None,
        "focus": "pullover-3",
        "present": [],
    }
    assert (answer.status_code, answer.json()) == (201, whole)
    address = f"sessions/{session.id}/"
    assert answer.headers["Location"] == f"http://testserver/api/v1/{address}"
    for person in (minor, athlete, athlete):
        assert api.put(f"{address}athletes/{person.id}/").status_code == 204
    present = [{"athlete": str(person.id), "step": None} for person in sorted((athlete, minor), key=lambda a: a.number)]
    assert api.get(address).json() == {**whole, "present": present}
    for _ in range(2):
        assert api.delete(f"{address}athletes/{minor.id}/").status_code == 204
    ended = api.post(f"{address}end/")
    assert [row["athlete"] for row in ended.json()["present"]] == [str(athlete.id)]
    assert ended.json()["ended_at"] is not None
    assert api.post(f"{address}end/").json() == ended.json()


@pytest.mark.parametrize("method", ["put", "delete"])
def test_nobody_comes_or_goes_after_the_end(api: Api, coach: Membership, athlete: Athlete, method: str) -> None:
    session = start_class(coach, athlete)
    api.post(f"sessions/{session.id}/end/")
    answer = getattr(api, method)(f"sessions/{session.id}/athletes/{athlete.id}/")
    assert (answer.status_code, answer.json()["detail"]) == (409, "This session has ended; start a new one.")
    assert Attendance.objects.count() == 1


def test_what_is_wrong_with_a_session_is_named(api: Api) -> None:
    body = {"name": " ", "focus": "x" * 61, "starts_at": "2026-03-02T18:05:00"}
    assert places(api.post("sessions/", body)).keys() == {"name", "focus", "starts_at"}
    assert places(api.post("sessions/", {"name": "x" * 81})).keys() == {"name"}
    assert places(api.post("sessions/", {"name": "x", "focus": "no-such"})) == {
        "focus": "There is no such step in this gym."
    }
    assert not TrainingSession.objects.exists()


def test_a_session_may_start_at_another_moment(api: Api) -> None:
    answer = api.post("sessions/", {"name": "Monday class", "starts_at": "2026-03-02T18:05:00+01:00", "focus": None})
    assert (answer.json()["starts_at"], answer.json()["focus"]) == ("2026-03-02T17:05:00Z", None)


def test_sessions_come_newest_first_page_by_page(api: Api, coach: Membership) -> None:
    now = timezone.now()
    for days in (2, 0, 1):
        start_session(by=coach, name=f"{days} days ago", starts_at=now - timedelta(days=days))
    first = api.get("sessions/", limit=2).json()
    second = api.get(first["next"].removeprefix("http://testserver/api/v1/")).json()
    names = [row["name"] for row in (*first["results"], *second["results"])]
    assert (names, second["next"]) == (["0 days ago", "1 days ago", "2 days ago"], None)


@pytest.mark.parametrize("rows", [1, 3])
def test_lists_and_boards_cost_the_same_whatever_their_length(
    api: Api, coach: Membership, gym: Gym, django_assert_num_queries: DjangoAssertNumQueries, rows: int
) -> None:
    people = [make_athlete(gym, f"Athlete {place}") for place in range(rows)]
    sessions = [start_class(coach, *people, focus="pullover-1") for _ in range(rows)]
    with django_assert_num_queries(2):  # the key, the rows
        assert len(api.get("sessions/").json()["results"]) == rows
    with django_assert_num_queries(3):  # the key, the session, who is present
        assert len(api.get(f"sessions/{sessions[0].id}/").json()["present"]) == rows
