"""Who held which right when."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from uuid import UUID

from athletes.core.rights import RightsHeld
from athletes.models import Membership, RightsChange


def rights_at(membership: Membership, moment: datetime) -> frozenset[str]:
    """Return the rights that a coach or an owner held at a moment: all for an owner, none before and after."""
    return rights_over_time([membership.id])[membership.id].at(moment)


def rights_over_time(membership_ids: Collection[UUID]) -> Mapping[UUID, RightsHeld]:
    """Return the rights of each of these memberships over time; one query. Who never had any has an empty history."""
    rows = RightsChange.objects.filter(membership__in=membership_ids).order_by("happened_at", "recorded_at", "pk")
    changes: dict[UUID, list[RightsChange]] = {each: [] for each in membership_ids}
    for row in rows:
        changes[row.membership_id].append(row)
    return {each: _held(found) for each, found in changes.items()}


def _held(changes: Sequence[RightsChange]) -> RightsHeld:
    return RightsHeld(
        moments=tuple(row.happened_at for row in changes),
        rights=tuple(frozenset(row.rights) for row in changes),
        skills=tuple(None if row.sign_off_skills is None else frozenset(row.sign_off_skills) for row in changes),
    )
