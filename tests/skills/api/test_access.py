"""What keys see of people: who is in sight, and nothing of another gym. Who may call what is in tests/security."""

from uuid import uuid4

import pytest
from django.test import Client

from athletes.models import Athlete, Gym, Membership
from skills.models import Attempt
from tests.factories.athletes import Role, make_athlete, make_member
from tests.factories.skills import decide, library, meet
from tests.helpers.api import PROBLEM, api_of, attempt_body
from tests.security.cast import Scene, make_scene
from tests.security.table import CALLS


@pytest.fixture
def scene(coach: Membership, minor: Athlete) -> Scene:
    return make_scene(coach, minor)


def test_what_another_gym_has_looks_like_what_is_not_there(
    scene: Scene, other_coach: Membership, other_gym: Gym
) -> None:
    library(other_gym)
    api = api_of(other_coach)
    nobody = {"athlete": str(uuid4())}
    bodies = {name: scene.bodies[name] | nobody for name in ("attempt", "sign_off")}
    made_up = Scene({name: uuid4() for name in scene.ids}, scene.bodies | bodies)
    for call in CALLS:
        if call.body != "session":
            theirs, nobodys = scene.call(api, call), made_up.call(api, call)
            assert (theirs.status_code, theirs.content) == (nobodys.status_code, nobodys.content)


def test_an_id_of_another_gyms_attempt_is_taken_without_telling_whose(
    scene: Scene, other_coach: Membership, other_gym: Gym
) -> None:
    library(other_gym)
    body = attempt_body(make_athlete(other_gym, "Noor Haddad"))
    answer = api_of(other_coach).put(f"attempts/{scene.ids['attempt']}/", body)
    assert answer.status_code == 409
    assert answer.json()["detail"] == "This id was used before for an attempt with other content; nothing was changed."
    assert Attempt.objects.get(pk=scene.ids["attempt"]).gym_id != other_gym.id


@pytest.mark.parametrize(
    ("who", "seen"),
    [
        ("owner", {"athlete", "minor"}),
        ("coach", {"athlete", "minor"}),
        ("athlete_member", {"athlete"}),
        ("guardian", {"minor"}),
    ],
)
def test_lists_hold_who_is_in_sight(
    request: pytest.FixtureRequest, coach: Membership, who: str, seen: set[str]
) -> None:
    people = {name: request.getfixturevalue(name) for name in ("athlete", "minor")}
    for person in people.values():
        meet(coach, person, "pullover-1", days_ago=3)
        meet(coach, person, "pullover-3", days_ago=1)
        decide(coach, person, "pullover-3a", "entrance")
    api = api_of(request.getfixturevalue(who))
    expected = {str(people[name].id) for name in seen}
    assert {row["id"] for row in api.get("athletes/").json()["results"]} == expected
    for address in ("attempts/", "sign-offs/"):
        assert {row["athlete"] for row in api.get(address).json()["results"]} == expected


def test_a_key_of_another_gym_lists_nothing_of_this_one(scene: Scene, other_coach: Membership) -> None:
    for address in ("athletes/", "sessions/", "attempts/", "sign-offs/"):
        assert api_of(other_coach).get(address).json()["results"] == []
    assert api_of(other_coach).get("skills/").json() == []


def test_only_who_may_read_reports_reads_a_month(gym: Gym) -> None:
    reader = make_member(gym, Role.COACH, "Rui Costa", rights=("may_read_reports",))
    assert api_of(reader).get("months/2026-01/").status_code == 200


def test_an_address_that_leads_nowhere_is_a_problem_not_a_page(db: None) -> None:
    for address in ("", "athletes", "athletes/not-a-uuid/", "no-such-thing/"):
        for method in ("get", "post", "put", "delete", "patch"):
            answer = getattr(Client(), method)(f"/api/v1/{address}")
            assert (answer.status_code, answer.headers["Content-Type"]) == (404, PROBLEM)
