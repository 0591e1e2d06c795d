"""What an athlete may not do at a moment."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from athletes.models import Caution


def cautions_active(athlete_ids: Collection[UUID], at: datetime) -> QuerySet[Caution]:
    """Return the cautions in force at that moment, the newest first."""
    return (
        Caution.objects.filter(athlete__in=athlete_ids, happened_at__lte=at)
        .filter(Q(until_at=None) | Q(until_at__gt=at))
        .exclude(lifts__happened_at__lte=at)
        .order_by("-happened_at")
    )


def loads_forbidden(athlete_id: UUID, at: datetime) -> frozenset[str]:
    """Return the loads that the athlete may not take at that moment."""
    return frozenset(load for caution in cautions_active([athlete_id], at) for load in caution.loads)
