"""Endurance: how long a share of the greatest force is held, by published curves, and the share that a hold tells.

A share is a fraction: 0.5 where half of the greatest force is asked. Times are in seconds. Nobody has published a
curve for the hip; the nearest are those of the trunk and of all joints together. The curves disagree where hard
holds lie: at the whole force the power laws give some twenty seconds, as a power law must, Rohmert six.

`JOINED` is the curve that estimates go by: from TURN up Rohmert's polynomial, below the general power law, scaled so
that the two meet. The scaled law stays within 4 % of the polynomial down to a half, and within 20 % down to 0.2. A
scale changes no estimate from one hold to another, the exponent does.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from math import log
from typing import Final, Literal

Region = Literal["general", "ankle", "trunk", "elbow", "knee", "shoulder", "grip"]

TURN: Final = 0.7  # from here on Rohmert's shape is the more believable one
POWER_LEAST: Final = 0.10  # the data are dense above 0.25; below a tenth nothing is said
ROHMERT_LEAST: Final = 0.16  # both forms run off to infinity at 0.15
JOINED_LEAST: Final = 0.2  # where two printed forms of Rohmert still agree within 9 %
# The band of 95 of 100 results around a power law is 29 to 47 % of it wide on either side, by the joint (Frey-Law and
# others, Journal of Biomechanics 45:1803, 2012, second hand). Of the wider one, as a standard deviation of logarithms:
SPREAD: Final = (log(1.47) - log(0.53)) / 2 / 1.959964


class NotAShareError(ValueError):
    """What was given is no share of the greatest force that a curve is known for; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Power:
    """ET = seconds × share ** exponent. Frey Law and Avin 2010, table 2."""

    seconds: float  # at the whole force
    exponent: float

    def at(self, share: float) -> float:
        """Return the seconds for which a share is held. Raises NotAShareError."""
        return self.seconds * math.pow(_checked(share, POWER_LEAST), self.exponent)

    def share(self, seconds: float) -> float:
        """Return the share that is held for so long; over 1 where even the whole force were held longer."""
        return math.pow(seconds / self.seconds, 1 / self.exponent)


# Frey Law LA, Avin KG, Ergonomics 53(1):109-129, 2010, table 2 (194 publications, 369 points), second hand.
REGIONS: Final[Mapping[Region, Power]] = {
    "general": Power(21.92, -1.98),
    "ankle": Power(34.71, -2.06),
    "trunk": Power(22.69, -2.27),
    "elbow": Power(17.98, -2.21),
    "knee": Power(19.38, -1.88),
    "shoulder": Power(14.86, -1.83),
    "grip": Power(33.55, -1.61),
}


def rohmert_seconds(share: float) -> float:
    """Return Rohmert's curve (1960) as the polynomial that El Ahrache and others list (2006); from memory.

    It lies within 9 % of the shifted power, which was seen, from 0.2 to 0.9. Raises NotAShareError.
    """
    f = _checked(share, ROHMERT_LEAST)
    return 60 * (-1.5 + 2.1 / f - 0.6 / f**2 + 0.1 / f**3)


def rohmert_shifted_seconds(share: float) -> float:
    """Return Rohmert's curve as Hincapié-Ramos and others print it (2014): a power with a shift.

    Raises NotAShareError.
    """
    f = _checked(share, ROHMERT_LEAST)
    return 1236.5 / math.pow(100 * f - 15, 0.618) - 72.5


def joined_seconds(share: float) -> float:
    """Return the curve that estimates go by: Rohmert's from TURN up, below the general power law scaled to meet it.

    Raises NotAShareError.
    """
    f = _checked(share, JOINED_LEAST)
    if f >= TURN:
        return rohmert_seconds(f)
    return rohmert_seconds(TURN) * math.pow(f / TURN, REGIONS["general"].exponent)


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve with its name, and the least share that it is known for."""

    name: str
    seconds: Callable[[float], float]
    least: float

    def share(self, seconds: float) -> float:
        """Return the share that is held for so long.

        1 for what is held no longer than the whole force; raises NotAShareError for a hold longer than the curve is
        known for.
        """
        from scipy.optimize import brentq  # noqa: PLC0415 - only who asks for an estimate pays for it

        if seconds <= self.seconds(1):
            return 1.0
        if seconds > self.seconds(self.least):
            raise NotAShareError(
                f"No curve is known for a hold of {seconds:g} s: {self.name} ends at {self.seconds(self.least):.0f} s."
            )
        return float(brentq(lambda share: self.seconds(share) - seconds, self.least, 1.0, xtol=1e-12))

    def steepness(self, share: float, by: float = 1e-4) -> float:
        """Return by how many per cent a hold gets shorter where the share grows by one; a number above 0."""
        high = min(share * (1 + by), 1.0)
        low = high / (1 + by)
        return log(self.seconds(low) / self.seconds(high)) / log(high / low)


def _power_curve(region: Region) -> Curve:
    return Curve(f"the power law ({region})", partial(Power.at, REGIONS[region]), JOINED_LEAST)


JOINED: Final = Curve("the joined curve", joined_seconds, JOINED_LEAST)
# The others that a hold is read by, to see how far the published curves disagree.
OTHERS: Final = (
    Curve("Rohmert’s polynomial", rohmert_seconds, JOINED_LEAST),
    Curve("Rohmert’s shifted power", rohmert_shifted_seconds, JOINED_LEAST),
    _power_curve("general"),
    _power_curve("trunk"),
)


def _checked(share: float, least: float) -> float:
    """Return a share of the greatest force; more than the whole is refused, and so is a percentage taken for one."""
    if not least <= share <= 1:
        raise NotAShareError(
            f"{share:g} is no share of the greatest force from {least:g} to 1: half of it is written 0.5."
        )
    return share
