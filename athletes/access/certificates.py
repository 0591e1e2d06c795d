"""The right to sign off ends with the certificates that it rests on."""

from __future__ import annotations

from datetime import date, datetime

from athletes.core.certificates import CertificateLine
from athletes.models import Membership
from athletes.queries.certificates import certificates_at

SIGNING = "may_sign_off"


def why_not_signing(member: Membership, now: datetime) -> str:
    """Return why a member may not sign off at that moment, in a sentence, or '' for who may.

    Every kind of certificate that was ever entered for somebody has to be good: past its last day, in the gym's time
    zone, the right ends with it. Who never had one entered signs on the right alone.
    """
    if not (member.is_owner or (member.is_staff_member and member.may_sign_off)):
        return "You do not hold the right to sign off in this gym."
    lines = certificates_at(member.id, now.astimezone(member.gym.zone).date())
    return " ".join(_ended(line) for line in lines if line.lapsed)


def _ended(line: CertificateLine) -> str:
    last = f", last day {_day(line.valid_until)}" if line.valid_until else ""
    ended = f"A certificate of yours has ended: {line.words}{last}."
    return f"{ended} The right to sign off ended with it, until the owner enters a new one."


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
