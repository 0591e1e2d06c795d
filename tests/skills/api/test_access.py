"""Every route of the API with every role, across gyms, without a key and with a revoked one."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client

from athletes.models import Athlete, Gym, Membership
from athletes.services.tokens import make_token, revoke_token
from skills.api.urls import urlpatterns
from skills.models import Attempt
from tests.factories.athletes import Role, make_athlete, make_member
from tests.factories.skills import decide, library, log, meet, start_class
from tests.helpers.api import PROBLEM, Api, api_of, attempt_body

WHO = ("owner", "coach", "bare_coach", "athlete_member", "guardian", "other_coach")


@dataclass(frozen=True, slots=True)
class Call:
    """A call about Mia, the guardian's ward: `route` is the name of its address; answers are in the order of WHO."""

    route: str
    method: str
    address: str
    answers: tuple[int, int, int, int, int, int]
    body: str = ""


CALLS = (
    Call("api_athletes", "get", "athletes/", (200, 200, 200, 200, 200, 200)),
    Call("api_athlete", "get", "athletes/{athlete}/", (200, 200, 200, 404, 200, 404)),
    Call("api_states", "get", "athletes/{athlete}/states/", (200, 200, 200, 404, 200, 404)),
    Call("api_skills", "get", "skills/", (200, 200, 200, 200, 200, 200)),
    Call("api_skill", "get", "skills/bar-pullover/", (200, 200, 200, 200, 200, 200)),
    Call("api_sessions", "get", "sessions/", (200, 200, 200, 403, 403, 200)),
    Call("api_sessions", "post", "sessions/", (201, 201, 403, 403, 403, 201), "session"),
    Call("api_session", "get", "sessions/{session}/", (200, 200, 200, 403, 403, 404)),
    Call("api_session_end", "post", "sessions/{session}/end/", (200, 200, 403, 403, 403, 404)),
    Call("api_presence", "put", "sessions/{session}/athletes/{athlete}/", (204, 204, 403, 403, 403, 404)),
    Call("api_presence", "delete", "sessions/{session}/athletes/{athlete}/", (204, 204, 403, 403, 403, 404)),
    Call("api_attempts", "get", "attempts/", (200, 200, 200, 200, 200, 200)),
    Call("api_attempt", "get", "attempts/{attempt}/", (200, 200, 200, 404, 200, 404)),
    Call("api_attempt", "put", "attempts/{new}/", (201, 201, 403, 403, 403, 422), "attempt"),
    Call("api_attempt_void", "post", "attempts/{attempt}/void/", (200, 200, 403, 403, 403, 404), "void"),
    Call("api_sign_offs", "get", "sign-offs/", (200, 200, 200, 200, 200, 200)),
    Call("api_sign_offs", "post", "sign-offs/", (201, 201, 403, 403, 403, 422), "sign_off"),
    Call("api_month", "get", "months/2026-01/", (200, 403, 403, 403, 403, 403)),
)
OPEN = ("api_schema", "api_nowhere")
# What a tablet's key opens, and no member's, is walked in test_floor_access.py.
ROUTES = [pattern for pattern in urlpatterns if not str(pattern.pattern).startswith("floor/")]


@dataclass(frozen=True, slots=True)
class Scene:
    """Mia on the board with one attempt, and a step that waits for its sign-off."""

    ids: dict[str, Any]
    bodies: dict[str, Any]

    def call(self, api: Api, call: Call) -> Any:
        address = call.address.format(**self.ids)
        if call.method == "get":
            return api.get(address)
        return api.delete(address) if call.method == "delete" else api.send(call.method, address, self._body(call))

    def _body(self, call: Call) -> Any:
        return self.bodies.get(call.body, {})


@pytest.fixture
def bare_coach(gym: Gym) -> Membership:
    return make_member(gym, Role.COACH, "Bo Silva")


@pytest.fixture
def scene(coach: Membership, minor: Athlete) -> Scene:
    session = start_class(coach, minor)
    meet(coach, minor, "pullover-1", days_ago=3)
    meet(coach, minor, "pullover-3", days_ago=1)
    attempt = log(coach, minor, "pullover-1", 5.0, session=session)
    ids = {"athlete": minor.id, "session": session.id, "attempt": attempt.id, "new": uuid4()}
    gate = {"step": "pullover-3a", "gate": "entrance", "decision": "passed", "clearance": "spotted"}
    gate |= {"risk_notes_read": True}
    bodies = {
        "session": {"name": "Tuesday class"},
        "attempt": attempt_body(minor),
        "void": {"reason": "wrong athlete"},
        "sign_off": {"athlete": str(minor.id), **gate},
    }
    return Scene(ids, bodies)


def test_the_table_knows_every_route() -> None:
    assert {pattern.name for pattern in ROUTES} == {*(call.route for call in CALLS), *OPEN}


def test_the_table_knows_every_method() -> None:
    views: dict[str, Any] = {str(pattern.name): getattr(pattern.callback, "cls") for pattern in ROUTES}  # noqa: B009
    methods = {
        (name, method)
        for name, view in views.items()
        if name not in OPEN
        for method in ("get", "post", "put", "patch", "delete")
        if hasattr(view, method)
    }
    assert methods == {(call.route, call.method) for call in CALLS}


@contextmanager
def undone() -> Iterator[None]:
    """Undo the block, so that the next call finds the same scene."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.mark.parametrize("call", CALLS, ids=lambda call: f"{call.method} {call.address}")
def test_each_route_answers_each_role(request: pytest.FixtureRequest, other_gym: Gym, scene: Scene, call: Call) -> None:
    library(other_gym)
    for who, expected in zip(WHO, call.answers, strict=True):
        api = api_of(request.getfixturevalue(who))
        with undone():
            answer = scene.call(api, call)
        assert answer.status_code == expected, (who, answer.content)
        media = "application/json" if expected < 300 else PROBLEM
        assert answer.headers.get("Content-Type") == (None if expected == 204 else media)
        assert answer.headers["Cache-Control"] == "private, no-store"


def test_without_a_good_key_nothing_opens(
    scene: Scene, owner: Membership, client_of: Callable[[Membership], Client]
) -> None:
    made = make_token(by=owner, name="lost")
    revoke_token(by=owner, token=made.token)
    browser = client_of(owner)  # signed in, as the owner, and yet nobody here
    for call in CALLS:
        for api in (Api(), Api(made.key), Api("no-such-key")):
            answer = scene.call(api, call)
            assert (answer.status_code, answer.headers["WWW-Authenticate"]) == (401, "Bearer")
            assert answer.headers["Content-Type"] == PROBLEM
        address = f"/api/v1/{call.address.format(**scene.ids)}"
        assert getattr(browser, call.method)(address).status_code == 401


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
