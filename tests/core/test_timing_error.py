"""The table of a stopwatch's error, told by the module and, as a second source, by SciPy's normal distribution.

The figures follow from a standard deviation of 0.10 s for start minus stop (Faux and Godolphin 2019, American Journal
of Physics 87(2), 110).
"""

from math import floor, sqrt

import pytest
from scipy import stats

from skills.core.timing_error import NOISE_TENTHS, SD_S, chance_to_read, compare

# A hold of so many seconds: the chance that it is read as at least 1.8 s, 2.0 s, 2.2 s.
TABLE = {
    1.7: (0.158655, 0.001350, 0.000000),
    1.8: (0.500000, 0.022750, 0.000032),
    1.9: (0.841345, 0.158655, 0.001350),
    2.0: (0.977250, 0.500000, 0.022750),
    2.1: (0.998650, 0.841345, 0.158655),
    2.2: (0.999968, 0.977250, 0.500000),
}
TARGETS = (18, 20, 22)


@pytest.mark.parametrize(("true_s", "chances"), TABLE.items())
def test_the_chance_to_read_a_target_is_that_of_the_table(true_s: float, chances: tuple[float, ...]) -> None:
    told = [chance_to_read(target, true_s=true_s) for target in TARGETS]
    assert told == pytest.approx(chances, abs=6e-7)  # the table has six places
    assert told == pytest.approx([stats.norm.sf(target / 10, true_s, SD_S) for target in TARGETS], rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("true_s", TABLE)
def test_cutting_to_tenths_leaves_the_chance_to_read_a_target_as_it_is(true_s: float) -> None:
    for target in TARGETS:
        as_shown = sum(
            stats.norm.cdf((tenths + 1) / 10, true_s, SD_S) - stats.norm.cdf(tenths / 10, true_s, SD_S)
            for tenths in range(target, 60)
        )
        assert as_shown == pytest.approx(chance_to_read(target, true_s=true_s), abs=1e-9)


def test_a_reading_that_is_cut_to_tenths_is_half_a_tenth_short_on_average() -> None:
    """Over all true lengths between two tenths; the width of the cut adds the variance of a tenth's square."""
    cut = [floor(moment * 1000) / 1000 - floor(moment * 10) / 10 for moment in (place / 1000 for place in range(1000))]
    assert sum(cut) / len(cut) == pytest.approx(0.05, abs=0.001)
    assert sqrt(SD_S**2 + 0.1**2 / 12) == pytest.approx(0.1040833, abs=5e-8)


def test_the_error_of_a_reading_and_of_a_difference_is_as_published() -> None:
    assert sqrt(2) * 0.07 == pytest.approx(SD_S, abs=0.0011)  # two presses of 0.07 s make the 0.10 s that was measured
    assert stats.norm.ppf(0.975) * SD_S == pytest.approx(0.1959964, abs=5e-8)
    assert stats.norm.ppf(0.995) * SD_S == pytest.approx(0.2575829, abs=5e-8)
    assert sqrt(2) * SD_S == pytest.approx(0.1414214, abs=5e-8)


def test_two_readings_of_one_hold_are_told_apart_less_often_than_once_in_twenty() -> None:
    apart_s = stats.norm.ppf(0.975) * sqrt(2) * SD_S
    assert apart_s == pytest.approx(0.2771808, abs=5e-8)
    assert (NOISE_TENTHS - 1) / 10 < apart_s < NOISE_TENTHS / 10


def test_readings_of_one_hold_that_are_cut_to_tenths_are_told_apart_less_often_than_once_in_ten() -> None:
    """Cut first, as they are shown and compared, over where in its tenth the true length lies."""
    lengths = [5 + place / 1000 for place in range(100)]
    apart = [(one, other) for one in range(40, 62) for other in range(40, 62) if compare(one, other) != "same"]
    chances = [sum(_shown(one, true_s) * _shown(other, true_s) for one, other in apart) for true_s in lengths]
    assert sum(chances) / len(chances) == pytest.approx(0.083, abs=0.001)


def _shown(tenths: int, true_s: float) -> float:
    """The chance that a hold of `true_s` is shown as exactly so many tenths."""
    return chance_to_read(tenths, true_s=true_s) - chance_to_read(tenths + 1, true_s=true_s)


@pytest.mark.parametrize(
    ("now", "before", "stands"),
    [
        (52, 52, "same"),
        (54, 52, "same"),
        (50, 52, "same"),
        (55, 52, "longer"),
        (49, 52, "shorter"),
        (3, 0, "longer"),
        (199, 202, "shorter"),
    ],
)
def test_under_three_tenths_apart_two_holds_are_the_same(now: int, before: int, stands: str) -> None:
    assert compare(now, before) == stands
