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
REFUSED: Final = {
    HTTPStatus.UNAUTHORIZED: "not signed in",
    HTTPStatus.FORBIDDEN: "refused",
    HTTPStatus.TOO_MANY_REQUESTS: "too many tries",
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


class SecurityLogMiddleware:
    """Notes every answer that refuses."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and note a refusal."""
        response = self.get_response(request)
        if event := REFUSED.get(response.status_code):  # type: ignore[call-overload]
            _note(logging.WARNING, event, request)
        return response


def listen() -> None:
    """Note what the account library tells of. Called once, when the app is ready."""
    for signal in _DONE:
        signal.connect(_done, dispatch_uid=f"security log of {_DONE[signal]}")
    auth.user_login_failed.connect(_failed, dispatch_uid="security log of failed sign-ins")


def _done(signal: Any, request: HttpRequest | None = None, **_told: Any) -> None:  # noqa: ANN401 (Django's signature)
    _note(logging.INFO, _DONE[signal], request, account_id=getattr(_told.get("user"), "pk", None))


def _failed(request: HttpRequest | None = None, **_told: Any) -> None:  # noqa: ANN401 (Django's signature)
    _note(logging.WARNING, "sign-in failed", request)


def _note(level: int, event: str, request: HttpRequest | None, account_id: object = None) -> None:
    user, member = getattr(request, "user", None), getattr(request, "member", None)
    match = getattr(request, "resolver_match", None)
    LOG.log(
        level,
        "%s account=%s member=%s %s %s",
        event,
        account_id or getattr(user, "pk", None) or "-",
        getattr(member, "pk", None) or "-",
        getattr(request, "method", None) or "-",
        getattr(match, "view_name", None) or "-",
    )
