"""Who may ask what of every address, by hand: the walk in test_walk.py holds the site against it.

Pages are in tests/architecture/routes.py (PAGES), each with the roles that it opens to. Here stand the API and the
floor's part of it, route by route, and what the account library's pages are. A route in no table fails the walk.
"""

from dataclasses import dataclass

from tests.architecture.routes import Page

# ---- Who asks -----------------------------------------------------------------------------------------------
# Members of the gym whose records the addresses name: Mia (a minor), her class, her try. Greta is Mia's guardian.
MEMBERS = ("owner", "coach", "coach_two", "reader", "athlete_member", "other_athlete", "guardian")
# Members of another gym, and who is signed in and belongs nowhere.
OUTSIDERS = ("other_owner", "other_coach", "stranger")
# Who holds something else than a sign-in: to pages, all of them are nobody, but a link in force to what is the link's.
KEYS = ("api_key", "revoked_key", "tablet", "tablet_without_hand_over", "revoked_tablet")
WITHOUT_SIGN_IN = ("nobody", "link", "expired_link", *KEYS)
EVERYBODY = (*MEMBERS, *OUTSIDERS, *WITHOUT_SIGN_IN)

METHODS = ("get", "head", "post", "put", "patch", "delete", "options")
# Pages take these, whoever asks; the others are refused to everybody.
PAGE_METHODS = ("get", "head", "post")

# ---- Pages --------------------------------------------------------------------------------------------------
# What a private link in force opens, besides what is open to anybody; to look at, not to write.
LINK_PAGES = frozenset({"linked", "linked_pdf", "who_sees"})
# Read by anybody, and telling nothing of anybody.
OPEN_ACCOUNT_PAGES = frozenset(
    {
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
        "mfa_authenticate",  # after the password, before one is signed in; leads to the sign-in else
        "mfa_login_webauthn",
    }
)
OWN_ACCOUNT_PAGES = frozenset(
    {
        "account_reauthenticate",
        "account_change_password",
        "account_set_password",
        "usersessions_list",
        "mfa_index",
        "mfa_reauthenticate",
        "mfa_activate_totp",
        "mfa_deactivate_totp",
        "mfa_view_recovery_codes",
        "mfa_generate_recovery_codes",
        "mfa_list_webauthn",
        "mfa_add_webauthn",
        "mfa_reauthenticate_webauthn",
        "mfa_edit_webauthn",
    }
)

# What a GET writes: that a link was opened, on the link.
WRITES_BY_ITSELF = frozenset({("link_open", "get")})

# ---- The API, with a key ------------------------------------------------------------------------------------
API_WHO = ("owner", "coach", "reader", "athlete_member", "other_athlete", "guardian", "other_coach", "other_owner")


@dataclass(frozen=True, slots=True)
class Call:
    """A call about Mia: `route` is the name of its address; answers are in the order of API_WHO."""

    route: str
    method: str
    address: str
    answers: tuple[int, int, int, int, int, int, int, int]
    body: str = ""


# who:                                                    owner coach reader athl. other guard. oth.coach oth.owner
CALLS = (
    Call("api_athletes", "get", "athletes/", (200, 200, 200, 200, 200, 200, 200, 200)),
    Call("api_athlete", "get", "athletes/{athlete}/", (200, 200, 200, 404, 404, 200, 404, 404)),
    Call("api_states", "get", "athletes/{athlete}/states/", (200, 200, 200, 404, 404, 200, 404, 404)),
    Call("api_skills", "get", "skills/", (200, 200, 200, 200, 200, 200, 200, 200)),
    Call("api_skill", "get", "skills/bar-pullover/", (200, 200, 200, 200, 200, 200, 200, 200)),
    Call("api_bars", "get", "bars/", (200, 200, 200, 403, 403, 403, 200, 200)),
    Call("api_sessions", "get", "sessions/", (200, 200, 200, 403, 403, 403, 200, 200)),
    Call("api_sessions", "post", "sessions/", (201, 201, 403, 403, 403, 403, 201, 201), "session"),
    Call("api_session", "get", "sessions/{session}/", (200, 200, 200, 403, 403, 403, 404, 404)),
    Call("api_session_end", "post", "sessions/{session}/end/", (200, 200, 403, 403, 403, 403, 404, 404)),
    Call("api_presence", "put", "sessions/{session}/athletes/{athlete}/", (204, 204, 403, 403, 403, 403, 404, 404)),
    Call("api_presence", "delete", "sessions/{session}/athletes/{athlete}/", (204, 204, 403, 403, 403, 403, 404, 404)),
    Call("api_attempts", "get", "attempts/", (200, 200, 200, 200, 200, 200, 200, 200)),
    Call("api_attempt", "get", "attempts/{attempt}/", (200, 200, 200, 404, 404, 200, 404, 404)),
    Call("api_attempt", "put", "attempts/{new}/", (201, 201, 403, 403, 403, 403, 422, 422), "attempt"),
    Call("api_attempt_void", "post", "attempts/{attempt}/void/", (200, 200, 403, 403, 403, 403, 404, 404), "void"),
    Call("api_sign_offs", "get", "sign-offs/", (200, 200, 200, 200, 200, 200, 200, 200)),
    Call("api_sign_offs", "post", "sign-offs/", (201, 201, 403, 403, 403, 403, 422, 422), "sign_off"),
    Call("api_month", "get", "months/2026-01/", (200, 403, 403, 403, 403, 403, 403, 200)),
)
OPEN_API = ("api_schema", "api_nowhere")


@dataclass(frozen=True, slots=True)
class FloorCall:
    """A call of an enrolled tablet; `answers` of one that a coach holds, of one in nobody's hand."""

    route: str
    method: str
    address: str
    answers: tuple[int, int]


FLOOR_CALLS = (
    FloorCall("floor_hello", "get", "floor/hello/", (200, 200)),
    FloorCall("floor_hand_over", "post", "floor/hand-over/", (422, 422)),
    FloorCall("floor_leave", "post", "floor/leave/", (200, 200)),
    FloorCall("floor_today", "get", "floor/today/", (200, 403)),
    FloorCall("floor_session", "get", "floor/sessions/{session}/", (200, 403)),
    FloorCall("floor_acts", "post", "floor/acts/", (422, 422)),
)
FLOOR_DOOR = "floor_enrol"  # opened by a code that is typed once, without a key


def opens_to(name: str, page: Page, who: str) -> bool:
    """Whether a page opens to somebody, by the tables."""
    if who == "link" and name in LINK_PAGES:
        return True
    if who in WITHOUT_SIGN_IN:
        return "nobody" in page.may
    if who == "other_athlete":
        return "athlete_member" in page.may and not page.record
    if who in {"other_owner", "other_coach"}:
        return who.removeprefix("other_") in page.may and not page.record
    return who in page.may
