"""From a hold on one step to the hold to expect on the next, with its band, and corrected by a gym's own pairs.

The model. A hold of T seconds tells, through the joined curve, which share of the greatest force it asked; both
poses keep the thighs alike, so the greatest force is the same, and the share that the next pose asks is that share over
the ratio of the levers. The logarithm of the share that is then seen differs from the one told by

    shift + person,   shift ~ N(0, unsure²),   person ~ N(0, spread²).

`shift` is what is wrong for everybody: half of what the published curves disagree by, and the lever. `person` is the
published band of endurance, of which half is taken for the person's own and alike in both holds, half for the day.
All is normal in the logarithm of the share, and the curve falls, so that a band of shares is a band of seconds.

A gym's pairs (people with holds on both steps) correct the shift: its mean is shrunk to nought by what is known before
(empirical Bayes: `unsure` grows where the pairs lie further off than it allows), and the spread by how far the pairs
lie apart. Below LEAST_S the curve ends: the whole force is asked, and how short a hold then is nobody can tell.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, hypot, log, sqrt
from statistics import NormalDist, median
from typing import Final

from skills.core.endurance import JOINED, JOINED_LEAST, OTHERS, SPREAD, Curve, NotAShareError
from skills.core.levers import Pose, ratio_to_straight
from skills.core.pairs import Pair
from skills.core.segments import TABLES, WINTER

PERCENT: Final = 90
LEAST_S: Final = JOINED.seconds(1)  # 6 s
LONGEST_S: Final = JOINED.seconds(JOINED_LEAST)
ENOUGH_PAIRS: Final = 5
TABLES_UNSURE: Final = 0.05  # of the lever's logarithm, at least: the tables of segments
POSE_UNSURE: Final = 0.06  # what a knee 10° off its angle moves the lever by
# Beyond this the greatest force is another one, or the levers cross while it only gets harder.
MOST_FOLD_APART_DEGREES: Final = 20
MOST_FOLD_DEGREES: Final = 110
SPREAD_KNOWN_FROM: Final = 10  # pairs that the published spread is worth
_REACH: Final = NormalDist().inv_cdf(0.5 + PERCENT / 200)


class NoEstimateError(ValueError):
    """Why nothing can be told; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Lever:
    """The moment about the hips in the known pose over that in the next one: under 1 where the next is harder.

    `low` and `high` are the least and the greatest of the tables of segments. It is the same for every body.
    """

    ratio: float
    low: float
    high: float

    @property
    def unsure(self) -> float:
        """How far it may be off for everybody, as a standard deviation of its logarithm."""
        return hypot(max(TABLES_UNSURE, log(self.high / self.low) / 2), POSE_UNSURE)


@dataclass(frozen=True, slots=True)
class Estimate:
    """The hold to expect, in seconds, and the band around it that holds PERCENT of 100; LEAST_S stands for less.

    `share_known` and `share_next` are the shares of the greatest force that the two poses ask; more than 1 where the
    next one asks more than there is. `pairs` is how many of the gym's own corrected it, 0 for none.
    """

    seconds: float
    low: float
    high: float
    share_known: float
    share_next: float
    pairs: int = 0


@dataclass(frozen=True, slots=True)
class Calibration:
    """How estimates of what has happened did, each made without that person: of `pairs`, how many lay in the band.

    `error_seconds` is the median distance of what was held from what was estimated, of those on the curve: where the
    estimate says less than LEAST_S and less was held, nobody can tell. None without any.
    """

    pairs: int
    inside: int
    error_seconds: float | None


def lever_between(known: Pose, asked: Pose) -> Lever:
    """Return the lever between two poses. Raises NoEstimateError where the lever alone does not tell."""
    if max(known.thigh_degrees, asked.thigh_degrees) > MOST_FOLD_DEGREES:
        raise NoEstimateError(
            f"With the thighs above {MOST_FOLD_DEGREES}° from straight down the lever gets shorter while the hold gets "
            "harder, so the lever does not tell."
        )
    if abs(known.thigh_degrees - asked.thigh_degrees) > MOST_FOLD_APART_DEGREES:
        raise NoEstimateError(
            f"The two poses hold the thighs at {known.thigh_degrees:g}° and {asked.thigh_degrees:g}°: nobody is as "
            "strong at one as at the other, so the lever alone does not tell."
        )
    ratios = {name: ratio_to_straight(known, table) / ratio_to_straight(asked, table) for name, table in TABLES.items()}
    return Lever(ratios[WINTER.key], min(ratios.values()), max(ratios.values()))


def estimate(known_seconds: float, lever: Lever, pairs: Sequence[Pair] = ()) -> Estimate:
    """Return the hold to expect from one of `known_seconds`, corrected by pairs (any number) of a gym's own.

    Raises NoEstimateError for a hold that no curve reaches.
    """
    return _corrected(_told(known_seconds, lever), [_seen(pair, lever) for pair in pairs])


def calibration(pairs: Sequence[Pair], lever: Lever) -> Calibration:
    """Return how well each of the pairs (one at least) is told by the others."""
    seen = [_seen(pair, lever) for pair in pairs]
    told = [_corrected(each.told, [*seen[:place], *seen[place + 1 :]]) for place, each in enumerate(seen)]
    held = [max(pair.next_tenths / 10, LEAST_S) for pair in pairs]
    return Calibration(
        pairs=len(pairs),
        inside=sum(holds(each, seconds) for each, seconds in zip(told, held, strict=True)),
        error_seconds=_median_error(zip(told, held, strict=True)),
    )


def _median_error(did: Iterable[tuple[Estimate, float]]) -> float | None:
    errors = [abs(told.seconds - held) for told, held in did if max(told.seconds, held) > LEAST_S]
    return median(errors) if errors else None


def holds(told: Estimate, seconds: float) -> bool:
    """Whether a hold lies in the band; one that is shorter than the curve goes is as good as its end."""
    return told.low <= max(seconds, LEAST_S) <= told.high


# ---- What a hold tells by itself ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Told:
    """The logarithm of the share that the next pose asks; how unsure it is for all alike, and between people."""

    share_known: float
    log_share: float
    unsure: float
    spread: float


def _told(known_seconds: float, lever: Lever) -> _Told:
    if known_seconds <= LEAST_S:
        raise NoEstimateError(
            f"A hold of {known_seconds:g} s tells nothing: the curves end at {LEAST_S:.0f} s, where the whole force is "
            "asked. A longer one would tell more."
        )
    try:
        share = JOINED.share(known_seconds)
    except NotAShareError as error:
        raise NoEstimateError(
            f"A hold of {known_seconds:g} s is longer than the curves are known for, which is {LONGEST_S:.0f} s."
        ) from error
    asked = share / lever.ratio
    if asked < JOINED_LEAST:
        raise NoEstimateError("The next pose asks so little that no curve is known for it.")
    unsure = hypot(_disagreement(known_seconds, asked, lever), lever.unsure)
    return _Told(share, log(asked), unsure, _spread(share, min(asked, 1.0)))


def _spread(share: float, asked: float) -> float:
    """Return the standard deviation between people: half of the variance is alike in both holds and partly cancels."""
    known, next_ = 1 / JOINED.steepness(share), 1 / JOINED.steepness(asked)
    return SPREAD * sqrt(((known - next_) ** 2 + known**2 + next_**2) / 2)


def _disagreement(known_seconds: float, asked: float, lever: Lever) -> float:
    """Return half of the range of the logarithms of shares, told by each of the published curves alone."""
    told = [log(asked), *(_by_itself(curve, known_seconds, lever) for curve in OTHERS)]
    return (max(told) - min(told)) / 2


def _by_itself(curve: Curve, known_seconds: float, lever: Lever) -> float:
    """Return what the hold tells by one curve alone, as a place on the joined one."""
    share = curve.share(min(known_seconds, curve.seconds(curve.least))) / lever.ratio
    if share >= 1:
        return log(share)
    return log(JOINED.share(min(curve.seconds(max(share, curve.least)), LONGEST_S)))


# ---- What the gym's own pairs tell -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was told of a pair, and how far the share of the hold that was seen lies from it."""

    told: _Told
    off: float


def _seen(pair: Pair, lever: Lever) -> _Seen:
    told = _told(pair.known_tenths / 10, lever)
    return _Seen(told, log(JOINED.share(pair.next_tenths / 10)) - told.log_share)


def _corrected(told: _Told, seen: Sequence[_Seen]) -> Estimate:
    shift, shift_sd, scale = _correction(told, seen)
    at, sd = told.log_share + shift, hypot(told.spread * scale, shift_sd)
    return Estimate(
        seconds=_seconds(at),
        low=_seconds(at + _REACH * sd),
        high=_seconds(at - _REACH * sd),
        share_known=told.share_known,
        share_next=exp(at),
        pairs=len(seen),
    )


def _correction(told: _Told, seen: Sequence[_Seen]) -> tuple[float, float, float]:
    """Return the shift, its standard deviation, and by what the spread is to be multiplied."""
    if not seen:
        return 0.0, told.unsure, 1.0
    weights = [each.told.spread**-2 for each in seen]
    mean = sum(weight * each.off for weight, each in zip(weights, seen, strict=True)) / sum(weights)
    apart = sum(((each.off - mean) / each.told.spread) ** 2 for each in seen)
    scale = sqrt((SPREAD_KNOWN_FROM + apart) / (SPREAD_KNOWN_FROM + len(seen) - 1))
    variance = scale**2 / sum(weights)
    before = max(told.unsure**2, mean**2 - variance)
    return mean * before / (before + variance), sqrt(before * variance / (before + variance)), scale


def _seconds(log_share: float) -> float:
    return JOINED.seconds(min(max(exp(log_share), JOINED_LEAST), 1.0))
