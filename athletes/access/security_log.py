"""What concerns security, in the log: who signed in or failed to, what was refused, which ways in were changed.

A line holds the event, ids and the name of the address, never what was typed: `gymtrack.security`, at level INFO for
what went as it should and WARNING for what was refused. What members did within a gym stands in its audit chain.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from http import HTTPStatus
from typing import Any, Final

from allauth.account import signals as account
from allauth.mfa import signals as mfa
from django.contrib.auth import signals as auth
from django.http import HttpRequest, HttpResponseBase

LOG: Final = logging.getLogger("gymtrack.security")
TOO_MANY: Final = "too many tries"
REFUSED: Final = {
    HTTPStatus.UNAUTHORIZED: "not signed in",
    HTTPStatus.FORBIDDEN: "refused",
    HTTPStatus.TOO_MANY_REQUESTS: TOO_MANY,
}
_DONE: Final = {
    auth.user_logged_in: "signed in",
    auth.user_logged_out: "signed out",
    account.password_changed: "password changed",
    account.password_reset: "password reset",
    account.email_changed: "address changed",
    account.email_confirmed: "address confirmed",
    mfa.authenticator_added: "second factor added",
    mfa.authenticator_removed: "second factor removed",
    mfa.authenticator_reset: "recovery codes renewed",
}
_FAILED: Final = {
    auth.user_login_failed: "sign-in failed",
    mfa.authentication_failed: "second factor failed",
}


class SecurityLogMiddleware:
    """Notes every answer that refuses."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and note a refusal."""
        response = self.get_response(request)
        if event := REFUSED.get(response.status_code):  # type: ignore[call-overload]
            note_refused(event, request)
        return response


def listen() -> None:
    """Note what the account library tells of. Called once, when the app is ready."""
    for level, events in ((logging.INFO, _DONE), (logging.WARNING, _FAILED)):
        for signal, event in events.items():
            signal.connect(_listener(level, event), weak=False, dispatch_uid=f"security log: {event}")


def note_refused(event: str, request: HttpRequest | None, account_id: object = None) -> None:
    """Note what was refused, where no answer of its own says so. `event` is the program's own words."""
    _note(logging.WARNING, event, request, account_id)


def _listener(level: int, event: str) -> Callable[..., None]:
    def listener(request: HttpRequest | None = None, **told: Any) -> None:  # noqa: ANN401 (Django's signature)
        _note(level, event, request, getattr(told.get("user"), "pk", None))

    return listener


def _note(level: int, event: str, request: HttpRequest | None, account_id: object = None) -> None:
    user, key = getattr(request, "user", None), getattr(request, "auth", None)
    member_id = getattr(getattr(request, "member", None), "pk", None) or getattr(key, "membership_id", None)
    match = getattr(request, "resolver_match", None)
    LOG.log(
        level,
        "%s account=%s member=%s key=%s %s %s",
        event,
        account_id or getattr(user, "pk", None) or "-",
        member_id or "-",
        getattr(key, "pk", None) or "-",
        getattr(request, "method", None) or "-",
        getattr(match, "view_name", None) or "-",
    )
