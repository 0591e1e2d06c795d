"""Every route for tablets: nothing without a tablet's key, no POST of another site, nobody's data without a coach."""

from typing import Any, NamedTuple

import pytest
from django.test import Client
from django.urls import URLPattern

from athletes.access.tablets import MAY_LOG
from athletes.api.tablets import ENROLLED, FloorView
from athletes.models import Membership
from athletes.services.staff import change_rights, end_membership
from athletes.services.tablets import revoke_tablet
from skills.api.urls import urlpatterns
from tests.helpers.api import PROBLEM, api_of
from tests.helpers.floor import ORIGIN, Device, enrolled, held

DOOR = "floor_enrol"  # by a code, for a key; see tests/athletes/api


def view_of(pattern: URLPattern) -> type[Any]:
    view: type[Any] = vars(pattern.callback)["cls"]
    return view


PATTERNS = [each for each in urlpatterns if str(each.pattern).startswith("floor/") and each.name != DOOR]
NOWHERE = "0190f3a4-0000-7000-8000-000000000000"  # no session's id; the same in every process that collects these
CALLS = [
    (method, str(pattern.pattern).replace("<uuid:session_id>", NOWHERE), view_of(pattern).access_rule)
    for pattern in PATTERNS
    for method in ("get", "post")
    if hasattr(view_of(pattern), method)
]


@pytest.fixture
def device(owner: Membership) -> Device:
    return enrolled(owner)


class Cast(NamedTuple):
    device: Device
    owner: Membership
    coach: Membership
    other_coach: Membership


@pytest.fixture
def cast(device: Device, owner: Membership, coach: Membership, other_coach: Membership) -> Cast:
    return Cast(device, owner, coach, other_coach)


def ask(method: str, address: str, **headers: str) -> Any:
    """Ask as a page of this site does, but for the headers."""
    sent = {"Origin": ORIGIN, **headers}
    if method == "get":
        return Client().get(f"/api/v1/{address}", headers=sent)
    return Client().post(f"/api/v1/{address}", {}, content_type="application/json", headers=sent)


def of(device: Device, coach: Membership | None = None) -> dict[str, str]:
    return (device.by(coach) if coach else device).headers


def problem(answer: Any) -> tuple[int, str]:
    assert answer.headers["Content-Type"] == PROBLEM, answer.content
    assert answer.headers["Cache-Control"] == "private, no-store"
    return answer.status_code, answer.json().get("code", "")


def test_every_view_is_a_tablets_and_says_whether_it_is_about_people() -> None:
    assert CALLS
    for pattern in PATTERNS:
        view = view_of(pattern)
        assert issubclass(view, FloorView), view
        assert getattr(view, "access_rule", None) in {ENROLLED, MAY_LOG}, view
        assert not view.access_rules, view


@pytest.mark.parametrize(("method", "address", "_rule"), CALLS)
def test_without_a_tablets_key_there_is_401(
    device: Device, coach: Membership, method: str, address: str, _rule: object
) -> None:
    held(device, coach)
    named = {"Coach": str(coach.id)}
    for authorization in ("", "Tablet nothing", f"Bearer {device.key}", f"Bearer {api_of(coach).key}"):
        answer = ask(method, address, Authorization=authorization, **named)
        assert problem(answer) == (401, "tablet"), authorization
    revoke_tablet(by=device.tablet.let_in_by, tablet=device.tablet)
    assert problem(ask(method, address, **of(device, coach))) == (401, "tablet")


@pytest.mark.parametrize(("method", "address", "_rule"), [call for call in CALLS if call[0] == "post"])
def test_a_post_of_another_site_or_of_a_form_is_refused(
    device: Device, coach: Membership, method: str, address: str, _rule: object
) -> None:
    held(device, coach)
    headers = of(device, coach)
    for origin in ("", "null", "https://elsewhere.example", "http://testserver:8000"):
        assert problem(ask(method, address, **headers, Origin=origin)) == (403, "origin")
    form = Client().post(f"/api/v1/{address}", {"code": "1"}, headers={**headers, "Origin": ORIGIN})
    assert problem(form)[0] == 415


@pytest.mark.parametrize(("method", "address", "rule"), CALLS)
def test_a_coach_is_asked_for_where_it_is_about_people_and_only_there(
    cast: Cast, method: str, address: str, rule: object
) -> None:
    device, coach, rights = cast.device, cast.coach, frozenset({"may_sign_off"})
    if rule == ENROLLED:
        assert ask(method, address, **of(device)).status_code in {200, 422}
        return
    for nobody in (None, coach, cast.other_coach):
        assert problem(ask(method, address, **of(device, nobody))) == (403, "hand_over")
    held(device, coach)
    assert problem(ask(method, address, **of(device))) == (403, "hand_over")
    assert ask(method, address, **of(device, coach)).status_code in {200, 404}
    change_rights(by=cast.owner, coach=coach, rights=rights)
    assert problem(ask(method, address, **of(device, coach))) == (403, "right")
    change_rights(by=cast.owner, coach=coach, rights=rights | {"may_log"})
    assert ask(method, address, **of(device, coach)).status_code in {200, 404}
    end_membership(by=cast.owner, membership=coach)
    assert problem(ask(method, address, **of(device, coach))) == (403, "right")
