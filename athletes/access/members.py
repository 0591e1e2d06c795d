"""As whom somebody acts: one account may have several memberships, one of which is in use."""

from __future__ import annotations

from django.db.models import Case, IntegerField, QuerySet, Value, When
from django.http import HttpRequest

from athletes.models import Account, Membership

_SESSION_KEY = "membership"
_ORDER = ("owner", "coach", "guardian", "athlete")


def memberships_of(account: Account) -> QuerySet[Membership]:
    """Return the account's memberships that have not ended, the one with most rights first."""
    rank = Case(
        *(When(role=role, then=Value(place)) for place, role in enumerate(_ORDER)),
        output_field=IntegerField(),
    )
    return (
        Membership.objects.filter(account=account, ended_at=None)
        .select_related("gym", "person", "athlete__person")
        .order_by(rank, "started_at")
    )


def held_memberships(request: HttpRequest) -> list[Membership]:
    """Return the signed-in person's memberships; asked for once a request."""
    if not hasattr(request, "memberships"):
        request.memberships = list(memberships_of(request.user))  # type: ignore[attr-defined, arg-type]
    held: list[Membership] = request.memberships  # type: ignore[attr-defined]
    return held


def current_member(request: HttpRequest) -> Membership | None:
    """Return the membership that the person chose in this browser, else the first one, else None."""
    found = held_memberships(request)
    chosen = request.session.get(_SESSION_KEY)
    return next((member for member in found if str(member.id) == chosen), found[0] if found else None)


def choose_member(request: HttpRequest, member: Membership) -> None:
    """Act as that membership from the next request on."""
    request.session[_SESSION_KEY] = str(member.id)
