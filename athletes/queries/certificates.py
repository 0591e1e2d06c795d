"""How the certificates of the staff stand on a day."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from athletes.core.certificates import CertificateLine, Entered, ends_soon, entry_on, line_of, reminder_due
from athletes.models import Certificate, Gym, Membership


def certificates_at(membership_id: UUID, day: date, known_at: datetime | None = None) -> tuple[CertificateLine, ...]:
    """Return how one person's certificates stand on a day of the gym, one line a kind, none for what was never entered.

    As known now, or as known at a moment: from what was recorded until then.
    """
    return certificates_of([membership_id], day, known_at)[membership_id]


def certificates_of(
    membership_ids: Collection[UUID], day: date, known_at: datetime | None = None
) -> Mapping[UUID, tuple[CertificateLine, ...]]:
    """Return the same for each of these memberships; one query."""
    found = _entered(membership_ids, known_at)
    return {each: tuple(_lines(entries, day)) for each, entries in found.items()}


@dataclass(frozen=True, slots=True)
class EndingCertificate:
    """A certificate that ends within so many days, and is not renewed; `words` is what its kind is called."""

    member: Membership
    kind: str
    words: str
    valid_until: date
    days: int


def certificates_ending(gym: Gym, day: date) -> list[EndingCertificate]:
    """Return the staff's certificates of which somebody has to be reminded on that day; two queries."""
    staff = Membership.objects.filter(gym=gym, role__in=("owner", "coach"), ended_at=None)
    people = {member.id: member for member in staff.select_related("person", "account", "gym").order_by("started_at")}
    return [
        EndingCertificate(people[each], kind, str(Certificate.Kind(kind).label), entry.valid_until, days)
        for each, kinds in _entered(people.keys()).items()
        for kind, entries in kinds.items()
        for entry, days in [reminder_due(entries, day) or (None, 0)]
        if entry and entry.valid_until
    ]


def _entered(
    membership_ids: Collection[UUID], known_at: datetime | None = None
) -> dict[UUID, dict[str, list[Entered]]]:
    rows = Certificate.objects.filter(membership__in=membership_ids).order_by("recorded_at", "pk")
    if known_at is not None:
        rows = rows.filter(recorded_at__lte=known_at)
    found: dict[UUID, dict[str, list[Entered]]] = {each: {} for each in membership_ids}
    for row in rows:
        entered = Entered(row.kind, row.valid_from, row.valid_until)
        found[row.membership_id].setdefault(row.kind, []).append(entered)
    return found


def certificates_to_renew(gym: Gym, day: date) -> list[tuple[Membership, CertificateLine]]:
    """Return the staff's certificates that have lapsed or end soon, with whose they are; two queries."""
    staff = Membership.objects.filter(gym=gym, role__in=("owner", "coach"), ended_at=None).select_related("person")
    people = {member.id: member for member in staff.order_by("-role", "started_at")}
    found = certificates_of(people.keys(), day)
    return [
        (people[each], line) for each, lines in found.items() for line in lines if line.lapsed or ends_soon(line, day)
    ]


def certificate_history(membership: Membership) -> QuerySet[Certificate]:
    """Return everything that was ever entered for somebody, the newest first."""
    rows = Certificate.objects.filter(gym=membership.gym_id, membership=membership)
    return rows.select_related("entered_by__person").order_by("-recorded_at", "-pk")


def _lines(entries: Mapping[str, list[Entered]], day: date) -> list[CertificateLine]:
    held = ((kind, entry_on(entries.get(kind, []), day)) for kind in Certificate.Kind)
    return [line_of(entry, str(kind.label), day) for kind, entry in held if entry]
