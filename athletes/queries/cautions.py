"""Cautions that hold at a moment."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from athletes.models import Caution, Load


def loads_forbidden(*, athlete_ids: Collection[UUID], now: datetime) -> dict[UUID, list[Load]]:
    """Return what each athlete may not do now, in the order of `Load`; no key for who may do everything."""
    in_force = (
        Caution.objects.filter(athlete__in=athlete_ids, happened_at__lte=now)
        .exclude(until_at__lte=now)
        .exclude(lifts__happened_at__lte=now)
    )
    forbidden: dict[UUID, set[str]] = {}
    for athlete_id, loads in in_force.values_list("athlete", "loads"):
        forbidden.setdefault(athlete_id, set()).update(loads)
    return {athlete_id: [load for load in Load if load in loads] for athlete_id, loads in forbidden.items()}
