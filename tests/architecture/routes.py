"""Every address of the site, walked from the resolver, and who may open which page."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver

OWNER = frozenset({"owner"})
SIGNERS = OWNER | {"coach"}
LOGGERS = SIGNERS | {"coach_two"}
STAFF = LOGGERS | {"reader"}
PEOPLE = frozenset({"athlete_member", "guardian"})
MEMBERS = STAFF | PEOPLE
SIGNED_IN = MEMBERS | {"stranger"}
ANYBODY = SIGNED_IN | {"nobody"}


@dataclass(frozen=True, slots=True)
class Page:
    """Who may open a page of the gym, how, and whether its address names a record of the gym."""

    may: frozenset[str]
    method: str = "get"
    record: bool = False


def _post(may: frozenset[str], *, record: bool = False) -> Page:
    return Page(may, "post", record)


PAGES = {
    "home": Page(MEMBERS),
    "set_up": Page(frozenset()),  # shut as soon as there is a gym
    "gym": Page(OWNER),
    "staff": Page(OWNER),
    "staff_invite": Page(OWNER),
    "staff_rights": Page(OWNER, record=True),
    "staff_end": Page(OWNER, record=True),
    "certificates": Page(OWNER, record=True),
    "factor_reset": Page(OWNER, record=True),
    "tokens": Page(OWNER),
    "token_revoke": _post(OWNER, record=True),
    "tablets": Page(OWNER),
    "tablet_add": Page(OWNER),
    "tablet_revoke": Page(OWNER, record=True),
    "acts": Page(OWNER),
    "acts_csv": Page(OWNER),
    "erasures": Page(OWNER),
    "erasure": Page(OWNER, record=True),
    "erasure_mine": Page(MEMBERS),
    "erasure_ward": Page(frozenset({"guardian"}), record=True),
    "kept": Page(ANYBODY),
    "my_data": Page(MEMBERS),
    "who_sees": Page(PEOPLE),  # and who holds a private link
    "who_sees_of": Page(frozenset({"guardian"}), record=True),
    "archive_mine": _post(MEMBERS),
    "archive_ward": _post(frozenset({"guardian"}), record=True),
    "archive_of": Page(OWNER, record=True),
    "private_links": Page(LOGGERS | {"guardian"}, record=True),
    "private_link_revoke": _post(LOGGERS | {"guardian"}, record=True),
    "link_open": Page(ANYBODY),
    "link_choose": Page(ANYBODY),  # with a link in hand; leads on else
    "link_leave": _post(ANYBODY),
    "linked": Page(PEOPLE),  # and who holds a private link; leads members to their own page
    "my_code": Page(STAFF),
    "choose_membership": _post(MEMBERS),
    "account_email": Page(SIGNED_IN),
    "mfa_remove_webauthn": Page(SIGNED_IN),
    "sign_in_end": _post(SIGNED_IN),
    "roster": Page(STAFF),
    "athlete_add": Page(LOGGERS),
    "roster_import": Page(LOGGERS),
    "roster_confirm": _post(LOGGERS),
    "athlete_change": Page(LOGGERS, record=True),
    "athlete_login": Page(LOGGERS, record=True),
    "athlete_guardian": Page(LOGGERS, record=True),
    "invitation_renew": _post(LOGGERS, record=True),
    "invitation_revoke": _post(LOGGERS, record=True),
    "join": Page(ANYBODY),
    "join_code": Page(ANYBODY),
    "join_accept": Page(ANYBODY),  # with an invitation in hand; leads to its code else
    "join_sent": Page(ANYBODY),
    "consents": Page(STAFF | {"guardian"}, record=True),
    "contacts": Page(STAFF | {"guardian"}, record=True),
    "screenings": Page(STAFF, record=True),
    "measures": Page(LOGGERS, record=True),
    "wards": Page(frozenset({"guardian"})),
    "login_end": _post(LOGGERS, record=True),
    "guardian_end": _post(LOGGERS, record=True),
    "skills": Page(MEMBERS),
    "skill": Page(MEMBERS),
    "skill_add": Page(OWNER),
    "skill_change": Page(OWNER),
    "skill_export": Page(OWNER),
    "skill_import": Page(OWNER),
    "skill_schema": Page(MEMBERS),
    "step_add": Page(OWNER),
    "step_change": Page(OWNER),
    "step_order": _post(OWNER),
    "step": Page(MEMBERS),
    "criterion_edit": Page(OWNER),
    "criterion_curve": Page(STAFF),
    "criterion_trial": _post(OWNER),
    "criterion_adopt": _post(OWNER),
    "my_progress": Page(PEOPLE),
    "progress_of": Page(frozenset({"guardian"}), record=True),
    "progress_pdf": Page(STAFF | {"guardian"}, record=True),
    "linked_pdf": Page(PEOPLE),  # and who holds a private link; leads members to their own page
    "own_practice": Page(frozenset({"guardian"}), record=True),
    "own_practice_undo": _post(frozenset({"guardian"}), record=True),
    "today": Page(STAFF),
    "session_start": _post(LOGGERS),
    "session": Page(STAFF, record=True),
    "session_present": _post(LOGGERS, record=True),
    "session_end": Page(LOGGERS, record=True),
    "class_wall": Page(STAFF, record=True),
    "class_rotation": _post(LOGGERS, record=True),
    "class_plan_pdf": Page(STAFF, record=True),  # of a class with a plan
    "session_athlete": Page(STAFF, record=True),
    "session_step": _post(LOGGERS, record=True),
    "session_unwell": _post(LOGGERS, record=True),
    "attempt_log": _post(LOGGERS, record=True),
    "bar_check": _post(LOGGERS, record=True),
    "attempt_void": _post(LOGGERS, record=True),
    "attempt_mend": _post(LOGGERS, record=True),
    "attempt_move": _post(LOGGERS, record=True),
    "attempt_angle": Page(LOGGERS, record=True),
    "floor": Page(ANYBODY),  # a shell with nobody's data
    "floor_app": Page(ANYBODY),
    "floor_screens": Page(ANYBODY),
    "floor_styles": Page(ANYBODY),
    "floor_manifest": Page(ANYBODY),
    "service_worker": Page(ANYBODY),
    "sign_offs": Page(STAFF),
    "sign_off": Page(STAFF, record=True),
    "athlete": Page(STAFF, record=True),
    "doses": Page(STAFF, record=True),
    "dose_change": Page(LOGGERS, record=True),
    "alone": Page(STAFF),
    "why": Page(STAFF, record=True),
    "proof_choose": Page(SIGNERS, record=True),
    "proof": Page(SIGNERS, record=True),
    "caution_add": _post(LOGGERS, record=True),
    "caution_lift": _post(SIGNERS, record=True),
    "risk_read": _post(STAFF, record=True),
    "incidents": Page(STAFF),
    "incident_add": Page(LOGGERS),
    "incidents_csv": Page(OWNER),
    "incident": Page(STAFF, record=True),
    "incident_note": _post(LOGGERS, record=True),
    "class_plan": Page(STAFF, record=True),
    "class_plan_make": _post(LOGGERS, record=True),
    "class_plan_person": Page(LOGGERS, record=True),
    "work_places": Page(STAFF),
    "work_place_add": Page(OWNER),
    "work_place_change": Page(OWNER, record=True),
    "work_place_retire": Page(OWNER, record=True),
    "bars": Page(STAFF),
    "bar_add": Page(OWNER),
    "bar_change": Page(OWNER, record=True),
    "bar_retire": Page(OWNER, record=True),
    "bar_set": Page(LOGGERS, record=True),
    "set_bar": Page(STAFF, record=True),
    "share_bar": Page(STAFF, record=True),
    "equipment": Page(STAFF),
    "equipment_check": Page(LOGGERS),
    "equipment_csv": Page(OWNER),
    "month": Page(OWNER),
    "month_of": Page(OWNER),
    "month_csv": Page(OWNER),
    "what_if": Page(OWNER),
}


def all_patterns(resolver: URLResolver | None = None, prefix: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Yield every address of the site with its pattern."""
    for pattern in (resolver or get_resolver()).url_patterns:
        address = prefix + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from all_patterns(pattern, address)
        else:
            yield address, pattern


def page_patterns() -> dict[str, URLPattern]:
    """Return the patterns of the pages that are ours, by name: no API, no account pages of the library."""
    return {
        pattern.name or address: pattern
        for address, pattern in all_patterns()
        if not address.startswith("api/") and not module_of(pattern.callback).startswith("allauth.")
    }


def api_patterns() -> dict[str, URLPattern]:
    """Return the patterns of the API, by address."""
    return {address: pattern for address, pattern in all_patterns() if address.startswith("api/")}


def account_patterns() -> dict[str, URLPattern]:
    """Return the account library's patterns, by name."""
    return {
        pattern.name or address: pattern
        for address, pattern in all_patterns()
        if module_of(pattern.callback).startswith("allauth.")
    }


def view_of(pattern: URLPattern) -> type[object]:
    """Return the class behind an API address."""
    view: type[object] = vars(pattern.callback)["cls"]
    return view


def module_of(view: Callable[..., object]) -> str:
    """Return the module of a view, or of the class behind it."""
    owner = getattr(view, "view_class", getattr(view, "cls", view))
    return str(owner.__module__)
