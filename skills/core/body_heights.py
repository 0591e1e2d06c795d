"""How high the parts of a body are that a bar is set by: as measured, or estimated from the stature. Whole millimetres.

An estimate goes over two surveys and both sexes, since neither sex nor survey is asked for: its interval reaches from
the fifth of a hundred women or men to the ninety-fifth, whichever lies farther out. All of them are of adults.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from athletes.core.bodies import Problem, body_problems

PERCENT: Final = 90
_Z: Final = 1.645  # a normal value lies within this many standard deviations in 90 of 100 cases


@dataclass(frozen=True, slots=True)
class Share:
    """A length as a share of the stature: what is taken for it, and the least and the most of 90 of 100 adults."""

    taken: float
    low: float
    high: float

    def of(self, stature_mm: int) -> Height:
        """Return the estimate for a stature."""
        taken, low, high = (round(share * stature_mm) for share in (self.taken, self.low, self.high))
        return Height(taken, low, high, measured=False)


@dataclass(frozen=True, slots=True)
class Height:
    """A height above the floor, or a length of the body, in mm; a measured one has no interval."""

    mm: int
    low_mm: int
    high_mm: int
    measured: bool


def _between(taken: float, *surveyed: tuple[float, float]) -> Share:
    """Return a share with the widest 90 % interval of these means and standard deviations."""
    lows, highs = zip(*((mean - _Z * sd, mean + _Z * sd) for mean, sd in surveyed), strict=True)
    return Share(taken, min(lows), max(highs))


# ANSUR II 2012 (Gordon and others 2014), the mean and standard deviation of each one's own share: men, women.
CHEST_SURVEYED: Final = ((0.735, 0.010), (0.719, 0.014))
REACH_SURVEYED: Final = ((1.215, 0.026), (1.203, 0.025))  # stature - sitting height + sitting reach, to the grip
SHOULDER_SURVEYED: Final = ((0.820, 0.010), (0.820, 0.009))
_HIP_SURVEYED: Final = ((0.513, 0.015), (0.519, 0.014))
_ANKLE_SURVEYED: Final = (0.0415, 0.0385)
# Drillis and Contini 1966 as drawn by Winter 2009, figure 4.1.
CHEST_DRAWN: Final = 0.720
_HIP_DRAWN: Final = 0.530
_ANKLE_DRAWN: Final = 0.039
# Pointed toes: a pommel horse study of 2024 (Scientific Reports, s41598-024-70698-8, table 1) has the tip of the toes
# 0.091 of the stature below where the sole would stand, hence 0.130 beyond the ankle.
TOES_BELOW_SOLE: Final = 0.091
TOES_BEYOND_ANKLE: Final = 0.130
EASY_REACH: Final = 1.184  # British adults, an easy stretch (Pheasant and Haslegrave 2006)

# Men 0.735, women 0.719, drawn 0.720: the middle of the survey's two.
CHEST: Final = _between(sum(mean for mean, _ in CHEST_SURVEYED) / 2, *CHEST_SURVEYED)
REACH: Final = _between(1.20, *REACH_SURVEYED)
# The drawn hip is higher than the surveyed ones; the longer leg is taken, since it asks for more room.
LEG: Final = _between(
    _HIP_DRAWN - _ANKLE_DRAWN + TOES_BEYOND_ANKLE,
    *((hip - ankle + TOES_BEYOND_ANKLE, sd) for (hip, sd), ankle in zip(_HIP_SURVEYED, _ANKLE_SURVEYED, strict=True)),
)
# No published height of the armpit was reached. It lies between chest and shoulder; a third of the way up is taken for
# it, and as far down and up as the chest lies below: an estimate of ours, never below the estimate of the chest.
_SHOULDER: Final = SHOULDER_SURVEYED[0][0]
ARMPIT: Final = Share(
    CHEST.taken + (_SHOULDER - CHEST.taken) / 3, CHEST.taken, CHEST.taken + (_SHOULDER - CHEST.taken) * 2 / 3
)


class OutsideHumanRange(ValueError):  # noqa: N818 (it reads as what went wrong)
    """A measure that no body has; `problem` names the part and its range in millimetres."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(f"{problem.part}: between {problem.least_mm} and {problem.most_mm} mm")


@dataclass(frozen=True, slots=True)
class Body:
    """What is known of a body, in millimetres above the floor in bare feet; None for what was not measured.

    `reach_mm` is the middle of the grip with both arms stretched overhead. Raises OutsideHumanRange.
    """

    stature_mm: int | None = None
    chest_mm: int | None = None
    armpit_mm: int | None = None
    reach_mm: int | None = None

    def __post_init__(self) -> None:
        problems = body_problems(
            stature_mm=self.stature_mm, chest_mm=self.chest_mm, armpit_mm=self.armpit_mm, reach_mm=self.reach_mm
        )
        if problems:
            raise OutsideHumanRange(problems[0])


def chest_of(body: Body) -> Height | None:
    """Return the height of the chest at the nipples: measured, else estimated, else None."""
    return _measured(body.chest_mm) or _estimated(CHEST, body)


def armpit_of(body: Body) -> Height | None:
    """Return the height of the armpit. Below a measured chest none is estimated."""
    if body.armpit_mm is not None:
        return _measured(body.armpit_mm)
    estimate, chest_mm = _estimated(ARMPIT, body), body.chest_mm
    if estimate is None or chest_mm is None:
        return estimate
    low, high = chest_mm, max(estimate.high_mm, chest_mm)
    return Height(min(max(estimate.mm, low), high), low, high, measured=False)


def reach_of(body: Body) -> Height | None:
    """Return how high the middle of the grip is with both arms stretched overhead, standing flat on the floor."""
    return _measured(body.reach_mm) or _estimated(REACH, body)


def leg_of(body: Body) -> Height | None:
    """Return the length from the hip joint to the tip of pointed toes with the knee straight: always an estimate."""
    return _estimated(LEG, body)


def toes_mm(body: Body) -> int | None:
    """Return how far pointed toes reach below where the sole would stand."""
    return None if body.stature_mm is None else round(TOES_BELOW_SOLE * body.stature_mm)


def _measured(mm: int | None) -> Height | None:
    return None if mm is None else Height(mm, mm, mm, measured=True)


def _estimated(share: Share, body: Body) -> Height | None:
    return None if body.stature_mm is None else share.of(body.stature_mm)
