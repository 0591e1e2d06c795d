"""What nobody in a gym can see: how strong somebody is, how fast they learn, how steady they are.

One try's reach, over what the step asks, is exp(strength - demand + spread * z), z from a standard normal.
Strength grows by `gain` with every class, not on a plateau, and falls in weeks away.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Final

from skills.demo.cast import Kind


@dataclass(frozen=True, slots=True)
class Stretch:
    """From a day on, up to and without another."""

    first: date
    after: date

    def holds(self, day: date) -> bool:
        """Whether the day lies inside."""
        return self.first <= day < self.after


@dataclass(frozen=True, slots=True)
class Latent:
    """The hidden parameters of one athlete."""

    start: float  # strength on the first day
    gain: float  # a class
    spread: float  # from try to try
    care: float  # added to the log-odds of a clean try
    classes_a_week: float
    plateaus: tuple[Stretch, ...]
    gaps: tuple[Stretch, ...]

    def trains_on(self, day: date) -> bool:
        """Whether the athlete is not away."""
        return not any(gap.holds(day) for gap in self.gaps)

    def gain_on(self, day: date) -> float:
        """Return what a class on that day adds to strength."""
        return 0.0 if any(plateau.holds(day) for plateau in self.plateaus) else self.gain


LOSS_A_WEEK_AWAY: Final = 0.02

# Means of start, gain, care and classes a week.
_MEANS: Final[dict[Kind, tuple[float, float, float, float]]] = {
    "strong": (1.3, 0.016, 0.3, 2.1),
    "quick": (0.5, 0.030, 0.2, 1.8),
    "steady": (0.25, 0.018, 0.0, 1.4),
    "slow": (-0.05, 0.011, -0.2, 1.0),
    "stuck": (-0.5, 0.0, -1.2, 1.5),
    "newcomer": (0.0, 0.02, -0.2, 1.5),
}


def draw_latent(rng: Random, kind: Kind, first: date, until: date) -> Latent:
    """Draw an athlete's hidden parameters around what is usual for their kind."""
    start, gain, care, classes = _MEANS[kind]
    return Latent(
        start=round(start + rng.gauss(0, 0.15), 4),
        gain=round(gain * rng.uniform(0.75, 1.25), 5),
        spread=round(rng.uniform(0.22, 0.38), 4),
        care=round(care + rng.gauss(0, 0.25), 4),
        classes_a_week=round(classes * rng.uniform(0.85, 1.2), 3),
        plateaus=_stretches(rng, first, until, most=2, days=(21, 45)),
        gaps=() if kind == "newcomer" else _stretches(rng, first, until, most=2, days=(14, 32)),
    )


def _stretches(rng: Random, first: date, until: date, *, most: int, days: tuple[int, int]) -> tuple[Stretch, ...]:
    whole = (until - first).days
    found = []
    for _ in range(rng.randint(0, most)):
        begins = first + timedelta(days=rng.randrange(max(whole, 1)))
        found.append(Stretch(begins, begins + timedelta(days=rng.randint(*days))))
    return tuple(sorted(found, key=lambda stretch: stretch.first))
