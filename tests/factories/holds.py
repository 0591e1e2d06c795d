"""Holds stored as they stand, on steps that may be closed: for figures, which look at nothing else."""

from datetime import UTC, datetime, timedelta

from athletes.models import Athlete, Membership
from skills.models import Attempt
from tests.factories.skills import step_of

NOW = datetime(2026, 3, 11, 11, tzinfo=UTC)


def ago(days: float) -> datetime:
    """So many days before NOW."""
    return NOW - timedelta(days=days)


def hold(by: Membership, athlete: Athlete, code: str, tenths: int, *, at: datetime, **more: object) -> Attempt:
    """A clean judged hold, or as `more` says."""
    row = {"source": "judged", "hold_tenths": tenths, "happened_at": at, "recorded_at": at, **more}
    return Attempt.objects.create(
        gym=athlete.gym, athlete=athlete, step=step_of(athlete.gym, code), logged_by=by, **row
    )


def both(by: Membership, athlete: Athlete, known: int = 300, next_: int = 80, days: float = 60) -> None:
    """A hold on the tucked support, and five days later one on the L-hold, so many days before NOW."""
    hold(by, athlete, "l-hold-2", known, at=ago(days + 5))
    hold(by, athlete, "l-hold-4", next_, at=ago(days))
