"""How far a person with a stopwatch is off, and which differences between two holds say nothing.

The model. The same eye judges the start and the end of a hold, so the error of a reading has mean 0 and a standard
deviation of 0.10 s: a single press after an awaited sight is N(0.11, 0.07²) s over 4304 presses, start minus stop
N(0, 0.10²) s (Faux and Godolphin 2019, American Journal of Physics 87(2), 110). In sprints, where the start is a
reaction and the end is seen coming, hands are 0.2 to 0.3 s fast (Mayhew and others 2010, Journal of Strength and
Conditioning Research 24(2), 447; Mann and others 2015, the same 29(6), 1509), so a bias of that size cannot be
ruled out.

Cutting a reading to tenths never takes it over or under a target in whole tenths: the chances below are those of
readings as shown. Two cut readings of one hold are 0.3 s or more apart in 8 of 100 cases, uncut ones in 3 to 4.
"""

from statistics import NormalDist
from typing import Final, Literal

SD_S: Final = 0.10  # of one reading, start and stop together
# Two readings of the same hold differ by less than 0.277 s (1.96 × √2 × 0.10 s) 95 times of 100.
NOISE_TENTHS: Final = 3  # from here on a difference is told

Comparison = Literal["longer", "shorter", "same"]

_ERROR: Final = NormalDist(0, SD_S)


def chance_to_read(at_least_tenths: int, *, true_s: float) -> float:
    """Return the chance that a hold that truly lasts `true_s` is read as that many tenths of a second or more."""
    return _ERROR.cdf(true_s - at_least_tenths / 10)


def compare(tenths: int, before_tenths: int) -> Comparison:
    """Return how a reading stands to an earlier one; under 0.3 s apart they are the same as far as a hand can tell."""
    apart = tenths - before_tenths
    if abs(apart) < NOISE_TENTHS:
        return "same"
    return "longer" if apart > 0 else "shorter"
