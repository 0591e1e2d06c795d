"""Deny by default: every address states who may open it, and lets in nobody else."""

from collections.abc import Callable, Sequence
from uuid import uuid4

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import path, reverse

from athletes.access.middleware import MemberMiddleware, states_rule
from athletes.access.rules import AccessRule
from athletes.models import Athlete, Gym, Membership
from athletes.services.invitations import invite_athlete
from athletes.services.private_links import make_link
from athletes.services.tablets import add_tablet
from athletes.services.tokens import make_token
from skills.services.cautions import enter_caution
from skills.services.library import install_library
from skills.services.safety import IncidentEntry, log_incident
from tests.architecture.routes import (
    MEMBERS,
    PAGES,
    SIGNED_IN,
    account_patterns,
    all_patterns,
    api_patterns,
    page_patterns,
    view_of,
)
from tests.factories.athletes import Role, make_consent, make_member
from tests.factories.skills import days_before_now, log, start_class, step_of

WHO = ("owner", "coach", "coach_two", "reader", "athlete_member", "guardian", "stranger", "nobody")
ROLES = {"coach_two": "coach", "reader": "coach", "athlete_member": "athlete"}
ACCOUNT_PAGES_FOR_ALL = {
    "account_login",
    "account_signup",
    "account_inactive",
    "account_reset_password",
    "account_reset_password_done",
    "account_reset_password_from_key",
    "account_reset_password_from_key_done",
    "account_logout",  # without a log-in there is nothing to end
    "account_confirm_email",
    "account_email_verification_sent",
}
ACCOUNT_ARGUMENTS = {
    "account_reset_password_from_key": ["1", "key"],
    "account_confirm_email": ["key"],
    "mfa_edit_webauthn": [1],
}


@pytest.fixture
def address(
    gym: Gym, owner: Membership, coach: Membership, minor: Athlete, guardian: Membership
) -> Callable[[str], str]:
    """The address of a named page, with real records of `gym` in it; Mia, the guardian's ward, is in all of them."""
    install_library(gym=gym, by=owner)
    session = start_class(coach, minor)
    attempt = log(coach, minor, "pullover-1", 5.0, session=session)
    caution = enter_caution(
        by=coach, athlete=minor, loads=frozenset({"landing"}), from_at=days_before_now(0), until_at=None, reason="ankle"
    )
    said = IncidentEntry(kind="nearly", happened_at=days_before_now(0), words="A slip.", athlete=minor)
    incident = log_incident(by=coach, entry=said)
    invitation = invite_athlete(by=coach, athlete=minor, email="").invitation
    make_consent(minor, by=coach, kind="link")
    made, other = (make_link(by=coach, athlete=minor) for _ in range(2))
    in_session = [session.id, minor.id]
    arguments: dict[str, Sequence[object]] = {
        "staff_rights": [coach.id],
        "staff_end": [coach.id],
        "certificates": [coach.id],
        "factor_reset": [coach.id],
        **{name: [invitation.id] for name in ("invitation_renew", "invitation_revoke")},
        "join_code": ["ABCD-EFGH-JKMN"],
        **{name: [minor.id] for name in ("consents", "contacts", "screenings")},
        "token_revoke": [make_token(by=owner, name="door").token.id],
        "tablet_revoke": [add_tablet(by=owner, name="wall").tablet.id],
        **{name: [minor.id] for name in ("athlete_change", "athlete_login", "athlete_guardian", "athlete")},
        "why": [minor.id, "pullover-1"],
        "proof_choose": [minor.id],
        "proof": [minor.id, "2026-01-05"],
        "login_end": [minor.id],
        "guardian_end": [minor.id, guardian.wards.get().id],
        "progress_of": [minor.id],
        "erasure_ward": [minor.id],
        "erasure": [minor.person_id],
        "archive_of": [minor.person_id],
        **{name: [minor.id] for name in ("who_sees_of", "archive_ward", "private_links")},
        "private_link_revoke": [other.link.id],
        "link_open": [made.token],
        **{name: ["bar-pullover"] for name in ("skill", "skill_change", "skill_export", "step_add")},
        **{name: ["bar-pullover", "pullover-1"] for name in ("step_change", "step_order")},
        "step": ["bar-pullover", "pullover-1"],
        **{name: ["bar-pullover", "pullover-1"] for name in ("criterion_edit", "criterion_trial", "criterion_adopt")},
        "criterion_curve": ["bar-pullover", "pullover-1"],
        **{name: [session.id] for name in ("session", "session_present", "session_end", "attempt_log", "bar_check")},
        "session_athlete": in_session,
        "session_step": in_session,
        "session_unwell": in_session,
        **{name: [attempt.id] for name in ("attempt_void", "attempt_mend", "attempt_move")},
        "sign_off": [minor.id, step_of(gym, "pullover-3a").id, "entrance"],
        "caution_add": [minor.id],
        **{name: [incident.id] for name in ("incident", "incident_note")},
        "risk_read": [step_of(gym, "pullover-3a").id],
        "caution_lift": [caution.id],
        "month_of": ["2026-01"],
        "month_csv": ["2026-01"],
        "mfa_remove_webauthn": [1],
    }
    return lambda name: reverse(name, args=arguments.get(name, []))


def _client(request: pytest.FixtureRequest, who: str) -> Client:
    if who == "nobody":
        return Client()
    signed_in: Client = request.getfixturevalue("client_of")(request.getfixturevalue(who))
    return signed_in


def _sent(request: pytest.FixtureRequest, who: str) -> dict[str, object]:
    """What forms send: an athlete and a step of the gym, and one's own membership."""
    gym, minor = request.getfixturevalue("gym"), request.getfixturevalue("minor")
    sent = {"athlete": minor.id, "step": step_of(gym, "pullover-1").id}
    return sent if who == "nobody" else {**sent, "membership": request.getfixturevalue(who).id}


def _status(client: Client, name: str, address: str, sent: dict[str, object] | None = None) -> int:
    asked: HttpResponse = getattr(client, PAGES[name].method)(address, sent or {})
    if asked.status_code in {302, 303} and asked["Location"].startswith(reverse("account_login")):
        return 401
    return asked.status_code


def test_the_table_knows_every_page() -> None:
    assert page_patterns().keys() == PAGES.keys()


def test_every_address_states_its_rule() -> None:
    silent = [address for address, pattern in all_patterns() if not states_rule(pattern.callback)]
    assert silent == []


@pytest.mark.parametrize("name", PAGES)
def test_the_stated_rule_names_the_same_roles_as_the_table(name: str) -> None:
    rule: AccessRule = vars(page_patterns()[name].callback)["access_rule"]
    roles = {ROLES.get(who, who) for who in PAGES[name].may}
    if rule.roles:
        assert roles - {"nobody", "stranger"} <= {*rule.roles}
    else:
        assert name in {"home", "set_up"} or PAGES[name].may >= SIGNED_IN


@pytest.mark.parametrize("who", WHO)
def test_pages_open_to_whom_they_may_and_to_nobody_else(
    request: pytest.FixtureRequest, address: Callable[[str], str], who: str
) -> None:
    client, sent = _client(request, who), _sent(request, who)
    answers = {name: _status(client, name, address(name), sent) for name in PAGES}
    wrong = {name: status for name, status in answers.items() if status not in _fitting(name, who)}
    assert wrong == {}


def _fitting(name: str, who: str) -> set[int]:
    if who in PAGES[name].may:
        return {200, 302, 303, 422}
    if name == "set_up":
        return {302, 303, 404}
    return {401} if who == "nobody" else {403, 404}


def test_records_of_another_gym_are_not_there(
    address: Callable[[str], str], other_gym: Gym, client_of: Callable[[Membership], Client]
) -> None:
    """Asked by the other gym's owner, who has every right in their own."""
    client = client_of(make_member(other_gym, Role.OWNER, "Oona Varga"))
    answers = {name: _status(client, name, address(name)) for name, page in PAGES.items() if page.record}
    wrong = {name: status for name, status in answers.items() if status not in _hidden(name)}
    assert wrong == {}


def _hidden(name: str) -> set[int]:
    return {403} if name in {"progress_of", "erasure_ward", "archive_ward", "who_sees_of"} else {404}


def test_every_api_address_states_its_rule_on_the_view() -> None:
    patterns = api_patterns()
    assert patterns
    for address, pattern in patterns.items():
        view = view_of(pattern)
        assert hasattr(view, "access_rule") or hasattr(view, "access_rules"), address


def test_the_api_answers_nobody_without_a_key(client: Client, db: None) -> None:
    fill = {"uuid": str(uuid4()), "slug": "bar-pullover", "str": "2026-01"}
    asked = 0
    for address, pattern in api_patterns().items():
        concrete = "/" + _filled(address, fill)
        if getattr(view_of(pattern), "access_rule", None) == AccessRule(()):
            continue
        for method in ("get", "post", "put", "patch", "delete"):
            status = getattr(client, method)(concrete).status_code
            assert status in {401, 405}, (method, concrete, status)
            asked += 1
    assert asked


def _filled(address: str, fill: dict[str, str]) -> str:
    parts = []
    for part in address.split("/"):
        kind = part.strip("<>").split(":")[0] if part.startswith("<") else ""
        parts.append(fill[kind] if kind else part)
    return "/".join(parts)


@pytest.mark.parametrize("name", sorted(account_patterns()))
def test_account_pages_other_than_the_way_in_ask_for_a_log_in(client: Client, db: None, name: str) -> None:
    answer = client.get(reverse(name, args=ACCOUNT_ARGUMENTS.get(name, [])))
    if name in ACCOUNT_PAGES_FOR_ALL:
        assert answer.status_code in {200, 302}
    else:
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("account_login"))


def test_a_view_without_a_rule_is_not_served(owner: Membership) -> None:
    def bare(_request: HttpRequest) -> HttpResponse:
        return HttpResponse("secret")

    middleware = MemberMiddleware(lambda _request: HttpResponse())
    request = RequestFactory().get("/")
    request.user = owner.account
    with pytest.raises(Exception, match="states no access rule"):
        middleware.process_view(request, path("", bare).callback, (), {})


def test_every_role_of_the_cast_is_walked() -> None:
    assert {*WHO} > MEMBERS
