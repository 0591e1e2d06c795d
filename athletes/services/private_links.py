"""Private links: made once, shown once, opened until they run out or are taken back."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from athletes.access.links import in_force, still_opens
from athletes.access.records import athletes_in_sight
from athletes.access.rules import holds
from athletes.core.refusal import Refusal
from athletes.models import Athlete, Membership, PrivateLink
from athletes.queries.consents import has_consent
from athletes.services.audit import record_act

MOST_LINKS: Final = 5  # in force at a time: a phone, a tablet at home, one to give away


class NotTheirs(Refusal):
    """Links are made by staff who may log, by the athlete, and by a minor's guardian."""


class NoConsent(Refusal):
    """Nobody who decides agreed to a link, or somebody said no."""


class TooManyLinks(Refusal):
    """As many links as can be kept apart are in force."""


class MadeLink(NamedTuple):
    """A new link and its token, which is nowhere to be read again."""

    link: PrivateLink
    token: str


def token_digest(token: str) -> str:
    """Return the SHA-256 of a token. Tokens are 256 random bits, so a slow hash would add nothing."""
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def make_link(*, by: Membership, athlete: Athlete) -> MadeLink:
    """Make a link to an athlete's own page. Raises NotTheirs, NoConsent, TooManyLinks."""
    if not may_keep_links(by, athlete):
        raise NotTheirs("Links to this page are made by a coach who may log, the athlete or a guardian.")
    Athlete.objects.select_for_update(no_key=True).get(pk=athlete.pk)  # a consent withdrawn at the same instant
    now = timezone.now()  # after the lock, so that a withdrawal that was waited for is not of a later moment
    if not has_consent(athlete, "link", now):
        raise NoConsent("There is no consent to a private link. It is given under Consents.")
    if in_force(athlete, now).count() >= MOST_LINKS:
        raise TooManyLinks(f"There are {MOST_LINKS} links in force. Take one back first.")
    token = secrets.token_urlsafe(32)
    link = PrivateLink.objects.create(
        gym=by.gym,
        athlete=athlete,
        digest=token_digest(token),
        made_by=by,
        made_at=now,
        until_at=now + timedelta(days=settings.PRIVATE_LINK_DAYS),
    )
    content = {"athlete": athlete.id, "until": link.until_at}
    record_act(gym=by.gym, actor=by, act="link_made", about=link.id, content=content)
    return MadeLink(link, token)


@transaction.atomic
def revoke_link(*, by: Membership, link: PrivateLink) -> bool:
    """Take a link back; return whether it was not until now. Whoever looks at its page is out at their next request."""
    links = PrivateLink.objects.filter(gym=by.gym_id, pk=link.pk, revoked_at=None)
    if not links.update(revoked_at=timezone.now()):
        return False
    record_act(gym=by.gym, actor=by, act="link_revoked", about=link.id, content={"athlete": link.athlete_id})
    return True


@transaction.atomic
def revoke_links(*, athlete: Athlete, by: Membership | None) -> int:
    """Take back all links to an athlete's page that are in force; return how many. `by` is None for the program."""
    Athlete.objects.select_for_update(no_key=True).get(pk=athlete.pk)  # a link made at the same instant
    now = timezone.now()
    links = list(in_force(athlete, now))
    PrivateLink.objects.filter(pk__in=[link.pk for link in links]).update(revoked_at=now)
    for link in links:
        record_act(gym=athlete.gym, actor=by, act="link_revoked", about=link.id, content={"athlete": athlete.id})
    return len(links)


def revoke_links_of_maker(*, maker: Membership, at: datetime, athlete: Athlete | None = None) -> int:
    """Take back what somebody made, to one athlete's page or to all, in the transaction in which they lose the right.

    Or who must go could go on reading by a link that they kept. Return how many were in force.
    """
    links = PrivateLink.objects.filter(gym=maker.gym_id, made_by=maker, revoked_at=None, until_at__gt=at)
    return (links.filter(athlete=athlete) if athlete else links).update(revoked_at=at)


def open_link(*, token: str) -> PrivateLink | None:
    """Return the link of that token if it is in force, and note that it was opened.

    One and the same query for a token that nobody ever made, one that ran out and one that was taken back.
    """
    link = link_of_token(token)
    if link is not None:
        PrivateLink.objects.filter(pk=link.pk).update(opened_at=timezone.now())
    return link


def link_of_token(token: str) -> PrivateLink | None:
    """Return the link of that token if it is in force, and note nothing."""
    now = timezone.now()
    links = PrivateLink.objects.filter(digest=token_digest(token), revoked_at=None, until_at__gt=now)
    related = ("gym", "athlete__person", "athlete__gym", "made_by")
    link = links.filter(athlete__person__erased_at=None).select_related(*related).first()
    return link if link and still_opens(link, now) else None


def may_keep_links(member: Membership, athlete: Athlete) -> bool:
    """Whether a member may make links to that athlete's page and take them back."""
    if member.is_staff_member:
        return member.gym_id == athlete.gym_id and holds(member, "may_log")
    return athletes_in_sight(member).filter(pk=athlete.pk).exists()
