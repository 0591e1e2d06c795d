"""The walk: every address, with every method, as everybody, against the tables in table.py and routes.py."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from athletes.access.rules import AccessRule
from athletes.models import Athlete, Membership
from athletes.services.tokens import make_token
from skills.models import TrainingSession
from tests.architecture.routes import (
    PAGES,
    account_patterns,
    all_patterns,
    api_patterns,
    page_patterns,
    view_of,
)
from tests.architecture.test_routes import ACCOUNT_ARGUMENTS, address  # noqa: F401 (a fixture)
from tests.factories.skills import library, step_of
from tests.helpers.api import PROBLEM
from tests.helpers.floor import ORIGIN
from tests.security import table
from tests.security.cast import Asker, Scene, asker_of, make_scene, membership_of, undone, writes_seen
from tests.security.table import CALLS, EVERYBODY, FLOOR_CALLS, METHODS, PAGE_METHODS

Address = Callable[[str], str]
Answer = Any  # what the test client gives back

OPENED, GONE, REFUSED = {200, 201, 302, 303, 422}, {404}, {403, 404}
TO_SIGN_IN = 401  # stands for a redirect to the sign-in
NAMES_HERE = ("Okafor", "Lindqvist", "Adeyemi", "Harbour Hall")


def status_of(answer: Answer) -> int:
    """The status; TO_SIGN_IN where the answer leads there."""
    if answer.status_code in {302, 303} and answer["Location"].startswith(reverse("account_login")):
        return TO_SIGN_IN
    return int(answer.status_code)


def body_of(answer: Answer) -> str:
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return bytes(content).decode("utf-8", "replace")


# ---- Nothing is missing in the tables ---------------------------------------------------------------------------
def test_every_route_is_in_one_table() -> None:
    assert page_patterns().keys() == PAGES.keys()
    library_pages = {name for name in account_patterns() if name not in PAGES}
    assert library_pages == table.OPEN_ACCOUNT_PAGES | table.OWN_ACCOUNT_PAGES
    api = {pattern.name for pattern in api_patterns().values()}
    routes = {call.route for call in (*CALLS, *FLOOR_CALLS)}
    assert api == routes | {*table.OPEN_API, table.FLOOR_DOOR}
    assert len([*all_patterns()]) == len(page_patterns()) + len(account_patterns()) + len(api)


def test_every_method_of_the_api_is_in_its_table() -> None:
    views = {pattern.name: view_of(pattern) for pattern in api_patterns().values()}
    methods = {
        (name, method)
        for name, view in views.items()
        if name not in {*table.OPEN_API, table.FLOOR_DOOR}
        for method in ("get", "post", "put", "patch", "delete", "trace")
        if hasattr(view, method)
    }
    assert methods == {(call.route, call.method) for call in (*CALLS, *FLOOR_CALLS)}


def test_links_open_the_pages_that_say_so() -> None:
    rules: dict[str, AccessRule] = {
        name: vars(pattern.callback)["access_rule"] for name, pattern in page_patterns().items()
    }
    assert {name for name, rule in rules.items() if getattr(rule, "link", False)} == table.LINK_PAGES


# ---- Pages ------------------------------------------------------------------------------------------------------
def sent_by(asker: Asker, minor: Athlete) -> dict[str, object]:
    """What forms send: an athlete and a step of the gym, and one's own membership."""
    sent: dict[str, object] = {"athlete": minor.id, "step": step_of(minor.gym, "pullover-1").id}
    return {**sent, "membership": asker.member.id} if asker.member else sent


def wanted(name: str, who: str, method: str) -> set[int]:
    """The statuses that a call may have, by the tables."""
    page = PAGES[name]
    if method not in PAGE_METHODS:
        return {405}
    usual = method == page.method or (method == "head" and page.method == "get")
    if table.opens_to(name, page, who):
        outside = who in table.OUTSIDERS  # what a form names is not in their gym
        missing = ({403, 404} if outside else set()) | ({405} if method == "head" else set())
        return OPENED | missing if usual else OPENED | {403, 404, 405}
    if name == "home" and who == "link":
        return {303}  # to the page that it opens
    if name == "set_up":
        return {302, 303, 404, TO_SIGN_IN}
    refused = {TO_SIGN_IN} if who in table.WITHOUT_SIGN_IN else REFUSED
    if who == "expired_link" and name in table.LINK_PAGES:
        refused = {404}
    if who in {"other_owner", "other_coach"} and page.record and who.removeprefix("other_") in page.may:
        refused = GONE
    return refused if usual and method != "head" else refused | {405}


@pytest.mark.parametrize("who", EVERYBODY)
def test_pages_open_to_whom_they_may_and_to_nobody_else_by_any_method(
    request: pytest.FixtureRequest,
    address: Address,  # noqa: F811 (the fixture)
    other_gym: Any,
    who: str,
) -> None:
    library(other_gym)
    asker = asker_of(request, who)
    sent = sent_by(asker, request.getfixturevalue("minor"))
    wrong, written, told = [], [], []
    for name in PAGES:
        place = address(name)
        got = 0
        for method in METHODS:
            with undone(), writes_seen() as writes:
                answer = asker.ask(method, place, sent)
                status, body = status_of(answer), body_of(answer)
            if status not in wanted(name, who, method):
                wrong.append((name, method, status))
            opened = table.opens_to(name, PAGES[name], who)
            if writes and not (method == "post" and opened) and (name, method) not in table.WRITES_BY_ITSELF:
                written.append((name, method, writes[0][:90]))
            if who in table.OUTSIDERS and any(word in body for word in NAMES_HERE):
                told.append((name, method))
            got = status if method == "get" else got
            if method == "head" and (body or status not in {got, 405}):
                wrong.append((name, "head is not as get", status))
    assert (wrong, written, told) == ([], [], [])


@pytest.mark.parametrize("method", METHODS)
def test_what_another_gym_has_looks_like_what_never_was(
    request: pytest.FixtureRequest,
    address: Address,  # noqa: F811 (the fixture)
    other_gym: Any,
    method: str,
) -> None:
    """The same status and, to the letter, the same page, whoever's the record is."""
    library(other_gym)
    asker = asker_of(request, "other_owner")
    differing = []
    for name, page in PAGES.items():
        if page.record and "owner" in page.may:
            theirs, nobodys = (asker.ask(method, place) for place in (address(name), made_up(address(name))))
            if (theirs.status_code, plain(body_of(theirs))) != (nobodys.status_code, plain(body_of(nobodys))):
                differing.append(name)
    assert differing == []


def made_up(place: str) -> str:
    """The same address with ids that nobody has."""
    parts = place.split("/")
    return "/".join(f"{part[:-12]}{'0' * 12}" if len(part) == 36 and part.count("-") == 4 else part for part in parts)


def plain(page: str) -> str:
    """A page without what differs from one answer to the next."""
    return re.sub(r'(csrfmiddlewaretoken" value="|X-CSRFToken": ")[^"]+', "", page)


# ---- The account library's pages --------------------------------------------------------------------------------
@pytest.mark.parametrize("who", ["nobody", "link", "api_key", "tablet", "reader", "stranger"])
def test_account_pages_other_than_the_way_in_ask_for_a_sign_in(
    request: pytest.FixtureRequest, who: str, db: None
) -> None:
    asker = asker_of(request, who)
    wrong = []
    for name in account_patterns():
        if name in PAGES:
            continue
        place = reverse(name, args=ACCOUNT_ARGUMENTS.get(name))
        for method in METHODS:
            with undone(), writes_seen() as writes:
                status = status_of(asker.ask(method, place))
            if method not in PAGE_METHODS:
                fits = status == 405
            elif name in table.OPEN_ACCOUNT_PAGES:
                fits = status in {200, 302, TO_SIGN_IN, 400, 404, 405}
            elif who in table.WITHOUT_SIGN_IN:
                fits = status == TO_SIGN_IN
            else:
                fits = status in {200, 302, 404, 405, 400}
            if not fits or (writes and method != "post"):
                wrong.append((name, method, status, writes))
    assert wrong == []


# ---- The API ----------------------------------------------------------------------------------------------------
@pytest.fixture
def scene(owner: Membership, coach: Membership, minor: Athlete) -> Scene:
    library(owner.gym, owner)
    return make_scene(coach, minor)


def keyed(request: pytest.FixtureRequest, who: str) -> Asker:
    made = make_token(by=membership_of(request, who), name="door")
    return Asker(Client(), {"Authorization": f"Bearer {made.key}"})


@pytest.mark.parametrize("who", table.API_WHO)
def test_each_route_of_the_api_answers_each_key_by_the_table(
    request: pytest.FixtureRequest,
    other_gym: Any,
    scene: Scene,
    who: str,
) -> None:
    library(other_gym)
    asker, place_of = keyed(request, who), table.API_WHO.index(who)
    wrong: list[object] = []
    for call in CALLS:
        with undone(), writes_seen() as writes:
            answer = asker.ask(call.method, _api(call.address, scene), scene.bodies.get(call.body), as_json=True)
            expected = call.answers[place_of]
        media = "application/json" if expected < 300 else PROBLEM
        seen = (answer.status_code, answer.headers.get("Content-Type"), answer.headers["Cache-Control"])
        if seen != (expected, None if expected == 204 else media, "private, no-store"):
            wrong.append((call.method, call.address, seen, answer.content))
        if writes and (call.method == "get" or expected >= 300):
            wrong.append((call.method, call.address, writes))
        if who.startswith("other_") and who != "other_athlete":
            assert not any(word in body_of(answer) for word in NAMES_HERE)
    assert wrong == []


@pytest.mark.parametrize("who", ["owner", "coach", "guardian"])
def test_methods_that_the_api_does_not_take_do_nothing(
    request: pytest.FixtureRequest,
    scene: Scene,
    who: str,
) -> None:
    asker, taken = keyed(request, who), {(call.route, call.method) for call in CALLS}
    for call in CALLS:
        for method in METHODS:
            if (call.route, "get" if method == "head" else method) in taken:
                continue
            with undone(), writes_seen() as writes:
                answer = asker.ask(method, _api(call.address, scene), {}, as_json=True)
            assert answer.status_code in {403, 405}, (method, call.address)
            assert writes == []


@pytest.mark.parametrize(
    "who", ["unknown_key", *(who for who in EVERYBODY if who not in {"api_key", "tablet", "tablet_without_hand_over"})]
)
def test_no_cookie_and_no_spent_key_opens_the_api(
    request: pytest.FixtureRequest,
    scene: Scene,
    who: str,
) -> None:
    asker = asker_of(request, who)
    for call in (*CALLS, *FLOOR_CALLS):
        for method in METHODS:
            with undone(), writes_seen() as writes:
                answer = asker.ask(method, _api(call.address, scene), {}, as_json=True)
            assert (answer.status_code, writes) == (401, []), (method, call.address)
            assert answer.headers["Content-Type"] == PROBLEM
            assert answer.headers["WWW-Authenticate"] == ("Tablet" if call in FLOOR_CALLS else "Bearer")


@pytest.mark.parametrize(("who", "place_of"), [("tablet", 0), ("tablet_without_hand_over", 1)])
def test_the_key_of_a_tablet_opens_the_floor_alone(
    request: pytest.FixtureRequest,
    scene: Scene,
    who: str,
    place_of: int,
) -> None:
    asker = asker_of(request, who)
    for call in CALLS:
        for method in METHODS:
            assert asker.ask(method, _api(call.address, scene), {}, as_json=True).status_code == 401
    for floor in FLOOR_CALLS:
        for method in METHODS:
            with undone(), writes_seen() as writes:
                answer = asker.ask(method, _api(floor.address, scene), {}, as_json=True)
            as_get = method == "head" and floor.method == "get"
            expected = {floor.answers[place_of]} if method == floor.method or as_get else {405, 403}
            assert answer.status_code in expected, (floor.route, method, answer.content)
            assert not writes or (method == "post" and answer.status_code < 300), (floor.route, method, writes)


def test_a_key_of_the_api_opens_no_floor(
    request: pytest.FixtureRequest,
    scene: Scene,
) -> None:
    for who in ("api_key", "revoked_key"):
        asker = asker_of(request, who)
        for call in FLOOR_CALLS:
            for method in METHODS:
                assert asker.ask(method, _api(call.address, scene), {}, as_json=True).status_code == 401


@pytest.mark.parametrize("who", EVERYBODY)
def test_the_door_and_the_document_are_the_same_to_everybody(
    request: pytest.FixtureRequest, owner: Membership, who: str
) -> None:
    asker = asker_of(request, who)
    asker.headers = {**asker.headers, "Origin": ORIGIN}
    statuses = {
        method: asker.ask(method, "/api/v1/floor/enrol/", {"code": "ABCD-EFGH"}, as_json=True).status_code
        for method in METHODS
    }
    assert statuses == {method: 403 if method == "post" else 405 for method in METHODS} | _unformed(statuses)
    found = {method: asker.ask(method, "/api/v1/no-such-thing/").status_code for method in METHODS}
    assert {*found.values()} == {404}


def _unformed(statuses: dict[str, int]) -> dict[str, int]:
    """A GET has no form of a call, so that it is refused for that before it is for its method."""
    return {method: status for method, status in statuses.items() if method in {"get", "head"} and status == 415}


def _api(place: str, scene: Scene) -> str:
    return f"/api/v1/{place.format(**scene.ids)}"


def test_the_scene_is_the_one_that_the_tables_are_about(scene: Scene, minor: Athlete) -> None:
    assert scene.ids["athlete"] == minor.id
    assert TrainingSession.objects.filter(pk=scene.ids["session"], gym=minor.gym).exists()
