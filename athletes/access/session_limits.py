"""How long a sign-in lasts: without a page asked for, and at most (OWASP ASVS 5.0, 7.3.1 and 7.3.2).

When somebody signed in and when they were last seen stands in the session itself. Being seen is written down
only every few minutes, so that a page that only reads does not write.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode, urlsplit
from uuid import UUID

from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.signals import user_logged_in
from django.contrib.sessions.backends.base import SessionBase
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils import timezone

from athletes.access.members import held_memberships
from gymtrack.lib.http import kept_nowhere, see_other

SIGNED_IN_AT, SEEN_AT, RAN_OUT = "signed_in_at", "seen_at", "ran_out"
_READING = ("GET", "HEAD", "OPTIONS")
SEEN_EVERY = timedelta(minutes=5)
# With this header a page that is left open asks what is new: nobody is there for that.
ASKS_BY_ITSELF = "Asks-By-Itself"


@dataclass(frozen=True, slots=True)
class Limits:
    """How long a sign-in may lie idle, and how long it lasts at most."""

    idle: timedelta
    at_most: timedelta

    @property
    def idle_words(self) -> str:
        """The idle limit as a page says it."""
        return _words(self.idle)

    @property
    def at_most_words(self) -> str:
        """The absolute limit as a page says it."""
        return _words(self.at_most)


class SessionLimitsMiddleware:
    """Ends a sign-in that has run out, and has no copy kept of what somebody saw who is signed in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer a request, as nobody's where the sign-in has run out; the sign-in page then says why."""
        if not request.user.is_authenticated:
            return self.get_response(request)
        self._look_at(request)
        response = self.get_response(request)
        return response if response.has_header("Cache-Control") else kept_nowhere(response)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponseBase], _args: object, _kwargs: object
    ) -> HttpResponseBase | None:
        """Lead a form that came too late to the sign-in, and from there to the page that it stood on.

        Its own address may be one that takes forms alone.
        """
        if not getattr(request, "sign_in_ended", False) or request.method in _READING:
            return None
        if not getattr(view, "login_required", True):
            return None
        return see_other(f"{reverse(settings.LOGIN_URL)}?{urlencode({'next': page_before(request)})}")

    def _look_at(self, request: HttpRequest) -> None:
        now, limits = timezone.now(), limits_of(request)
        request.sign_in_limits = limits  # type: ignore[attr-defined]
        why = why_ended(request.session, limits, now)
        if why:
            logout(request)
            request.session[RAN_OUT] = why
            request.sign_in_ended = True  # type: ignore[attr-defined]
        elif ASKS_BY_ITSELF not in request.headers:
            note_seen(request.session, now)


def page_before(request: HttpRequest) -> str:
    """Return the path of the page of this site that a request came from, else of the first page."""
    before = urlsplit(request.headers.get("Referer", ""))
    return before.path if before.netloc == request.get_host() and before.path.startswith("/") else "/"


def limits_of(request: HttpRequest) -> Limits:
    """Return the limits of who is signed in: the shorter ones for who is on the staff of any gym."""
    if any(member.is_staff_member for member in held_memberships(request)):
        return Limits(timedelta(hours=settings.STAFF_IDLE_HOURS), timedelta(days=settings.STAFF_DAYS))
    return Limits(timedelta(days=settings.MEMBER_IDLE_DAYS), timedelta(days=settings.MEMBER_DAYS))


def why_ended(session: SessionBase, limits: Limits, now: datetime) -> str:
    """Return "idle" or "over" where the sign-in has run out at that moment, else nothing.

    A session that does not say when it began is over: nobody could tell how old it is.
    """
    signed_in, seen = _moment(session, SIGNED_IN_AT), _moment(session, SEEN_AT)
    if signed_in is None or seen is None or now - signed_in > limits.at_most:
        return "over"
    return "idle" if now - seen > limits.idle else ""


def note_seen(session: SessionBase, now: datetime) -> None:
    """Write down that somebody was seen, unless that was done a moment ago."""
    seen = _moment(session, SEEN_AT)
    if seen is None or now - seen >= SEEN_EVERY:
        session[SEEN_AT] = now.timestamp()
        UserSession.objects.filter(session_key=session.session_key).update(last_seen_at=now)


def begin(sender: object, request: HttpRequest, **_more: object) -> None:  # noqa: ARG001 (a signal's receiver)
    """Write down when somebody signed in, whichever way they came."""
    now = timezone.now().timestamp()
    request.session[SIGNED_IN_AT] = request.session[SEEN_AT] = now
    request.session.pop(RAN_OUT, None)


def end_sign_ins(account_id: UUID) -> None:
    """End every sign-in of an account, in whichever browser."""
    for signed_in in UserSession.objects.filter(user=account_id):
        signed_in.end()


def end_sign_in(account_id: UUID, pk: int) -> None:
    """End one sign-in of an account; nobody else's."""
    for signed_in in UserSession.objects.filter(user=account_id, pk=pk):
        signed_in.end()


def watch_sign_ins() -> None:
    """Have every sign-in begin its limits."""
    user_logged_in.connect(begin, dispatch_uid="session_limits")


def _words(span: timedelta) -> str:
    hours = int(span.total_seconds() // 3600)
    number, unit = (hours // 24, "day") if hours % 24 == 0 else (hours, "hour")
    return f"{number} {unit}{'' if number == 1 else 's'}"


def _moment(session: SessionBase, name: str) -> datetime | None:
    stamp = session.get(name)
    return datetime.fromtimestamp(stamp, tz=timezone.get_default_timezone()) if stamp is not None else None
