"""Sign-offs through the API."""

from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, Gym, Membership
from skills.models import RiskRead, SignOff
from tests.factories.athletes import make_athlete
from tests.factories.skills import decide, meet, pass_step
from tests.helpers.api import Api, api_of, places, utc


@pytest.fixture
def api(coach: Membership) -> Api:
    return api_of(coach)


def body(athlete: Athlete, **more: Any) -> dict[str, Any]:
    gate = {"step": "pullover-3a", "gate": "entrance", "decision": "passed", "clearance": "spotted"}
    return {"athlete": str(athlete.id), "risk_notes_read": True, **gate, **more}


def test_a_pass_opens_the_step_on_its_evidence(api: Api, coach: Membership, athlete: Athlete) -> None:
    meet(coach, athlete, "pullover-1", days_ago=4)
    tries = meet(coach, athlete, "pullover-3", days_ago=1)
    answer = api.post("sign-offs/", body(athlete))
    row = SignOff.objects.get()
    assert answer.status_code == 201
    assert answer.json() == {
        "id": str(row.id),
        "athlete": str(athlete.id),
        "step": "pullover-3a",
        "gate": "entrance",
        "decision": "passed",
        "clearance": "spotted",
        "criterion": 1,
        "evidence": sorted(str(attempt.id) for attempt in tries),
        "signed_by": str(coach.id),
        "signed_at": utc(row.happened_at),
    }
    assert api.get("sign-offs/").json()["results"] == [answer.json()]
    steps = {step["step"]: step for step in api.get(f"athletes/{athlete.id}/states/").json()["steps"]}
    assert (steps["pullover-3a"]["state"], steps["pullover-3a"]["clearance"]) == ("working", "spotted")


def test_a_pass_at_a_risky_step_asks_for_its_risk_notes_by_the_fields_name_once(
    api: Api, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    for person in (athlete, minor):
        meet(coach, person, "pullover-1", days_ago=4)
        meet(coach, person, "pullover-3", days_ago=1)
    refused = api.post("sign-offs/", body(athlete, risk_notes_read=False))
    assert (refused.status_code, places(refused)) == (
        422,
        {"risk_notes_read": "Read the risk notes of this step first, and say that you have."},
    )
    assert not RiskRead.objects.exists()
    assert api.post("sign-offs/", body(athlete)).status_code == 201
    assert (RiskRead.objects.get().coach, RiskRead.objects.get().step.code) == (coach, "pullover-3a")
    assert api.post("sign-offs/", body(minor, risk_notes_read=False)).status_code == 201
    assert RiskRead.objects.count() == 1


def test_a_gate_that_does_not_wait_is_refused_in_words(api: Api, athlete: Athlete) -> None:
    sentences = places(api.post("sign-offs/", body(athlete)))
    assert sentences.keys() == {"decision"}
    assert sentences["decision"].startswith("First these must stand as passed: 3 Strict pull-up")
    assert not SignOff.objects.exists()


def test_all_that_is_missing_is_named_at_once(api: Api, athlete: Athlete) -> None:
    assert places(api.post("sign-offs/", body(athlete, decision="not_yet"))).keys() == {"reason", "decision"}
    assert places(api.post("sign-offs/", body(athlete, clearance=""))).keys() == {"clearance", "decision"}
    wrong = body(athlete, gate="window", decision="maybe", clearance="blindfold", reason="x" * 501)
    assert places(api.post("sign-offs/", {**wrong, "athlete": "x"})).keys() == {
        "gate",
        "decision",
        "clearance",
        "athlete",
        "reason",
    }
    assert places(api.post("sign-offs/", body(athlete, step="no-such"))).keys() == {"step"}


def test_an_athlete_of_another_gym_is_unknown(api: Api, other_gym: Gym) -> None:
    theirs = make_athlete(other_gym, "Noor Haddad")
    assert places(api.post("sign-offs/", body(theirs))) == {"athlete": "There is no such athlete in this gym."}


def test_decisions_are_listed_by_athlete_newest_first(
    api: Api, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    for person in (athlete, minor):
        pass_step(coach, person, "pullover-3a")
    revoked = decide(coach, athlete, "pullover-3a", decision="revoked", reason="has not shown it since")
    rows = api.get("sign-offs/", athlete=athlete.id).json()["results"]
    assert [(row["gate"], row["decision"], row["clearance"]) for row in rows] == [
        ("finish", "revoked", ""),
        ("finish", "passed", "present"),
        ("entrance", "passed", "present"),
    ]
    assert rows[0]["id"] == str(revoked.id)
    assert len(api.get("sign-offs/").json()["results"]) == 5


@pytest.mark.parametrize("rows", [1, 3])
def test_a_list_costs_the_same_whatever_its_length(
    api: Api, coach: Membership, athlete: Athlete, django_assert_num_queries: DjangoAssertNumQueries, rows: int
) -> None:
    meet(coach, athlete, "pullover-1", days_ago=4)
    meet(coach, athlete, "pullover-3", days_ago=1)
    for _ in range(rows):
        decide(coach, athlete, "pullover-3a", "entrance", decision="not_yet", reason="eyes shut")
    with django_assert_num_queries(2):  # the key, the rows
        assert len(api.get("sign-offs/").json()["results"]) == rows
