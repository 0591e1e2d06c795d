"""The right to sign off: for which skills it was given, and that it ends with the certificates that it rests on."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime

from django.utils import timezone

from athletes.core.certificates import CertificateLine
from athletes.models import Gym, Membership
from athletes.queries.certificates import certificates_at, certificates_of
from athletes.queries.taught import skills_taught

SIGNING = "may_sign_off"


def signs(member: Membership, skill_slug: str) -> bool:
    """Whether a member may sign off the steps of that skill now."""
    return not why_not_signing(member, timezone.now(), skill_slug)


def why_not_signing(member: Membership, now: datetime, skill_slug: str = "") -> str:
    """Return why a member may not sign off at that moment, in a sentence, or '' for who may.

    With a skill: its steps; without one: those of any skill. Every kind of certificate that was ever entered for
    somebody has to be good: past its last day, in the gym's time zone, the right ends with it. Who never had one
    entered signs on the right alone.
    """
    if not _holds_right(member):
        return "You do not hold the right to sign off in this gym."
    if skill_slug and not _covers(member, skill_slug):
        return _for_other_skills(member)
    lines = certificates_at(member.id, now.astimezone(member.gym.zone).date())
    return " ".join(_ended(line) for line in lines if line.lapsed)


def skills_signed(member: Membership, skill_slugs: Collection[str], now: datetime) -> frozenset[str]:
    """Return the skills among these whose steps a member may sign off at that moment; one query."""
    if why_not_signing(member, now):
        return frozenset()
    return frozenset(slug for slug in skill_slugs if _covers(member, slug))


def signers_of(gym: Gym, skill_slugs: Collection[str], now: datetime) -> Mapping[str, Sequence[Membership]]:
    """Return who may sign off the steps of each of these skills at that moment, owners first; two queries."""
    staff = Membership.objects.filter(gym=gym, role__in=("owner", "coach"), ended_at=None).select_related("person")
    holders = [member for member in staff.order_by("-role", "started_at") if _holds_right(member)]
    lines = certificates_of([member.id for member in holders], now.astimezone(gym.zone).date())
    able = [member for member in holders if not any(line.lapsed for line in lines[member.id])]
    return {slug: [member for member in able if _covers(member, slug)] for slug in skill_slugs}


def _holds_right(member: Membership) -> bool:
    return member.is_owner or (member.is_staff_member and member.may_sign_off)


def _covers(member: Membership, skill_slug: str) -> bool:
    return member.is_owner or member.sign_off_skills is None or skill_slug in member.sign_off_skills


def _for_other_skills(member: Membership) -> str:
    given = set(member.sign_off_skills or ())
    names = ", ".join(name for slug, name in skills_taught(member.gym).items() if slug in given)
    return f"You may not sign off steps of this skill in this gym; the right that you hold is for: {names or 'none'}."


def _ended(line: CertificateLine) -> str:
    last = f", last day {_day(line.valid_until)}" if line.valid_until else ""
    ended = f"A certificate of yours has ended: {line.words}{last}."
    return f"{ended} The right to sign off ended with it, until the owner enters a new one."


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
