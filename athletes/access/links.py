"""Private links as a browser holds them: by which one somebody without an account looks at one athlete's page."""

from __future__ import annotations

from datetime import datetime
from http import HTTPStatus
from typing import Final

from django.contrib.auth import logout
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from athletes.models import Athlete, Membership, PrivateLink
from athletes.queries.consents import has_consent
from gymtrack.lib.http import render_page

SESSION_KEY: Final = "private_link"
OFFERED_KEY: Final = "private_link_offered"


def in_force(athlete: Athlete, now: datetime) -> QuerySet[PrivateLink]:
    """Return the links to an athlete's page that open it at that moment, the newest first."""
    links = PrivateLink.objects.filter(gym=athlete.gym_id, athlete=athlete, revoked_at=None, until_at__gt=now)
    return links.select_related("made_by__person").order_by("-made_at")


def still_opens(link: PrivateLink, now: datetime) -> bool:
    """Whether a link that is in force opens its page: by consent, and a guardian's while the athlete is a minor."""
    if link.made_by.role == Membership.Role.GUARDIAN and not link.athlete.is_minor():
        return False
    return has_consent(link.athlete, "link", now)


def link_in_use(request: HttpRequest) -> PrivateLink | None:
    """Return the link by which this browser looks, if it is still in force; None for who is signed in.

    Asked anew at every request: one that was taken back, or lost its consent, opens nothing any more.
    """
    return None if request.user.is_authenticated else _found(request.session.get(SESSION_KEY))


def link_offered(request: HttpRequest) -> PrivateLink | None:
    """Return the link that somebody opened who is signed in, and has not chosen to go on by."""
    return _found(request.session.get(OFFERED_KEY))


def holds_a_link(request: HttpRequest) -> bool:
    """Whether this browser was let in by a link once, in force or not."""
    return SESSION_KEY in request.session


def use_link(request: HttpRequest, link: PrivateLink) -> None:
    """Look by that link from now on: signed out, in a session of its own under a fresh key."""
    if request.user.is_authenticated:
        logout(request)
    request.session.flush()
    request.session[SESSION_KEY] = str(link.pk)


def offer_link(request: HttpRequest, link: PrivateLink) -> None:
    """Keep the link apart until who is signed in says that they want to go on by it."""
    request.session[OFFERED_KEY] = str(link.pk)


def decline_link(request: HttpRequest) -> None:
    """Forget the link that was offered."""
    request.session.pop(OFFERED_KEY, None)


def leave_link(request: HttpRequest) -> None:
    """Forget in this browser by which link it looked, and everything else that it held."""
    request.session.flush()


def link_gone(request: HttpRequest) -> HttpResponse:
    """Answer who holds a link that opens nothing: the same page whether it ran out, was taken back or never was."""
    response = render_page(request, "athletes/link_gone.html", status=HTTPStatus.NOT_FOUND)
    response["Referrer-Policy"] = "no-referrer"
    return response


def _found(link_id: str | None) -> PrivateLink | None:
    if not link_id:
        return None
    now = timezone.now()
    links = PrivateLink.objects.filter(pk=link_id, revoked_at=None, until_at__gt=now, athlete__person__erased_at=None)
    link = links.select_related("gym", "athlete__person", "athlete__gym", "made_by").first()
    return link if link and still_opens(link, now) else None
