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


def loads_forbidden_between(athlete_id: UUID, from_at: datetime, until_at: datetime) -> frozenset[str]:
    """Return the loads that the athlete might not take at any moment from one up to another."""
    rows = Caution.objects.filter(athlete=athlete_id, happened_at__lte=until_at)
    rows = rows.filter(Q(until_at=None) | Q(until_at__gt=from_at)).exclude(lifts__happened_at__lte=from_at)
    return frozenset(load for loads in rows.values_list("loads", flat=True) for load in loads)


def loads_forbidden(athlete_id: UUID, at: datetime) -> frozenset[str]:
    """Return the loads that the athlete may not take at that moment."""
    return frozenset(load for caution in cautions_active([athlete_id], at) for load in caution.loads)
