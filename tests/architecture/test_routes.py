"""Deny by default: every address states who may open it. That it lets in nobody else is walked in tests/security."""

from collections.abc import Callable, Sequence

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
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
    PAGES,
    SIGNED_IN,
    all_patterns,
    api_patterns,
    page_patterns,
    view_of,
)
from tests.factories.athletes import make_consent
from tests.factories.bars import make_low_bar
from tests.factories.class_plans import make_place, make_plan
from tests.factories.skills import days_before_now, log, start_class, step_of

ROLES = {"coach_two": "coach", "reader": "coach", "athlete_member": "athlete"}
ACCOUNT_ARGUMENTS: dict[str, list[object]] = {
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
    own = log(guardian, minor, "pullover-1", 5.0, source="own")
    caution = enter_caution(
        by=coach, athlete=minor, loads=frozenset({"landing"}), from_at=days_before_now(0), until_at=None, reason="ankle"
    )
    said = IncidentEntry(kind="nearly", happened_at=days_before_now(0), words="A slip.", athlete=minor)
    incident = log_incident(by=coach, entry=said)
    make_consent(minor, by=coach, kind="login")
    invitation = invite_athlete(by=coach, athlete=minor, email="").invitation
    make_consent(minor, by=coach, kind="link")
    made, other = (make_link(by=coach, athlete=minor) for _ in range(2))
    in_session = [session.id, minor.id]
    station = make_place(gym, "high bar", "high_bar")
    make_plan(coach, session)
    arguments: dict[str, Sequence[object]] = {
        "staff_rights": [coach.id],
        "staff_end": [coach.id],
        "certificates": [coach.id],
        "factor_reset": [coach.id],
        **{name: [invitation.id] for name in ("invitation_renew", "invitation_revoke")},
        "join_code": ["ABCD-EFGH-JKMN"],
        **{name: [minor.id] for name in ("consents", "contacts", "screenings", "measures")},
        **{name: [make_low_bar(gym, name).id] for name in ("bar_change", "bar_retire", "bar_set")},
        "set_bar": [minor.id, "pullover-6"],
        **{name: [station.id] for name in ("work_place_change", "work_place_retire")},
        **{name: [session.id] for name in ("class_plan", "class_plan_make", "class_plan_pdf")},
        **{name: [session.id] for name in ("class_wall", "class_rotation")},
        "class_plan_person": [session.id, minor.id, 0],
        "token_revoke": [make_token(by=owner, name="door").token.id],
        "tablet_revoke": [add_tablet(by=owner, name="wall").tablet.id],
        **{name: [minor.id] for name in ("athlete_change", "athlete_login", "athlete_guardian", "athlete")},
        **{name: [minor.id, "pullover-1"] for name in ("why", "dose_change")},
        **{name: [minor.id] for name in ("doses", "own_practice")},
        "own_practice_undo": [minor.id, own.id],
        "proof_choose": [minor.id],
        "proof": [minor.id, "2026-01-05"],
        "login_end": [minor.id],
        "guardian_end": [minor.id, guardian.wards.get().id],
        **{name: [minor.id] for name in ("progress_of", "progress_pdf")},
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
        **{
            name: [session.id]
            for name in ("session", "session_present", "session_end", "attempt_log", "bar_check", "share_bar")
        },
        "session_athlete": in_session,
        "session_step": in_session,
        "session_unwell": in_session,
        **{name: [attempt.id] for name in ("attempt_void", "attempt_mend", "attempt_move", "attempt_angle")},
        "sign_off": [minor.id, step_of(gym, "pullover-3a").id, "entrance"],
        "caution_add": [minor.id],
        **{name: [incident.id] for name in ("incident", "incident_note")},
        "risk_read": [step_of(gym, "pullover-3a").id],
        "caution_lift": [caution.id],
        "month_of": ["2026-01"],
        "month_csv": ["2026-01"],
        "mfa_remove_webauthn": [1],
        "sign_in_end": [1],
    }
    return lambda name: reverse(name, args=arguments.get(name, []))


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


def test_every_api_address_states_its_rule_on_the_view() -> None:
    patterns = api_patterns()
    assert patterns
    for address, pattern in patterns.items():
        view = view_of(pattern)
        assert hasattr(view, "access_rule") or hasattr(view, "access_rules"), address


def test_a_view_without_a_rule_is_not_served(owner: Membership) -> None:
    def bare(_request: HttpRequest) -> HttpResponse:
        return HttpResponse("secret")

    middleware = MemberMiddleware(lambda _request: HttpResponse())
    request = RequestFactory().get("/")
    request.user = owner.account
    with pytest.raises(Exception, match="states no access rule"):
        middleware.process_view(request, path("", bare).callback, (), {})
