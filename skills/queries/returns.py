"""Who comes back after weeks away."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import timedelta
from uuid import UUID

from django.db.models import Max

from skills.models import Attempt, Attendance, TrainingSession

AWAY_DAYS = 21


def days_away(session: TrainingSession, athlete_ids: Collection[UUID]) -> Mapping[UUID, int]:
    """Return how many days ago those were last seen who were away for three weeks before this session.

    Seen is who was present in a class or has an attempt that stands. Nobody who is new was away. What happens in the
    session itself changes nothing: what is proposed at its start stays proposed. One query, and one more where
    somebody may have been away.
    """
    earlier = {"gym": session.gym_id, "athlete__in": athlete_ids}
    since = session.starts_at - timedelta(days=AWAY_DAYS)
    tries = Attempt.objects.filter(**earlier, void=None, happened_at__lt=session.starts_at)
    classes = Attendance.objects.filter(**earlier, session__starts_at__lt=session.starts_at)
    lately = tries.filter(happened_at__gt=since).values_list("athlete")
    seen = {row[0] for row in lately.union(classes.filter(session__starts_at__gt=since).values_list("athlete"))}
    unseen = [athlete_id for athlete_id in athlete_ids if athlete_id not in seen]
    if not unseen:
        return {}
    last = tries.filter(athlete__in=unseen).values_list("athlete").annotate(last=Max("happened_at"))
    zone = session.gym.zone
    today = session.starts_at.astimezone(zone).date()
    return {athlete_id: (today - at.astimezone(zone).date()).days for athlete_id, at in last}
