"""As whom somebody acts: one account may have several memberships, one of which is in use."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest

from athletes.models import Membership

_SESSION_KEY = "membership"
_ORDER = ("owner", "coach", "guardian", "athlete")


def held_memberships(request: HttpRequest) -> list[Membership]:
    """Return the signed-in person's memberships that have not ended, the one with most rights first.

    Asked for once a request, and put in order here: every page waits for it, and an ORDER BY that ranks roles
    is slower to build than to run.
    """
    if not hasattr(request, "memberships"):
        rows = Membership.objects.filter(account=request.user, ended_at=None)  # type: ignore[misc]
        held = sorted(rows.select_related("gym", "person", "athlete__person"), key=_rank)
        request.memberships = held  # type: ignore[attr-defined]
    memberships: list[Membership] = request.memberships  # type: ignore[attr-defined]
    return memberships


def _rank(member: Membership) -> tuple[int, datetime]:
    return _ORDER.index(member.role), member.started_at


def current_member(request: HttpRequest) -> Membership | None:
    """Return the membership that the person chose in this browser, else the first one, else None."""
    found = held_memberships(request)
    chosen = request.session.get(_SESSION_KEY)
    return next((member for member in found if str(member.id) == chosen), found[0] if found else None)


def choose_member(request: HttpRequest, member: Membership) -> None:
    """Act as that membership from the next request on."""
    request.session[_SESSION_KEY] = str(member.id)
