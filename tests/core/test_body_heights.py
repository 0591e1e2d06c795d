"""Heights of a body against the surveys that they are estimated from.

ANSUR II 2012 (Gordon and others 2014, NATICK/TR-15/007): means and standard deviations computed from the published
measurements of 4,082 men and 1,986 women. Drillis and Contini 1966 as drawn by Winter 2009, figure 4.1.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.body_heights import (
    ARMPIT,
    CHEST,
    EASY_REACH,
    LEG,
    REACH,
    Body,
    Height,
    OutsideHumanRange,
    armpit_of,
    chest_of,
    leg_of,
    reach_of,
    toes_mm,
)

MEN_STATURE_MM, WOMEN_STATURE_MM = 1756, 1628  # 1756.2 and 1628.5
statures = st.integers(800, 2500)


@pytest.mark.parametrize(
    ("stature_mm", "mean_mm", "sd_share"), [(MEN_STATURE_MM, 1291, 0.010), (WOMEN_STATURE_MM, 1172, 0.014)]
)
def test_chest_estimate_holds_the_means_of_the_survey(stature_mm: int, mean_mm: int, sd_share: float) -> None:
    """1291.1 mm for men, 1171.6 for women; the middle of both sexes lies within 1.5 cm of each."""
    chest = chest_of(Body(stature_mm))
    assert chest is not None
    assert abs(chest.mm - mean_mm) <= 15
    assert chest.low_mm <= mean_mm - 1.64 * sd_share * stature_mm
    assert chest.high_mm >= mean_mm + 1.64 * sd_share * stature_mm


@pytest.mark.parametrize(
    ("stature_mm", "fifth", "ninety_fifth"), [(MEN_STATURE_MM, 1.173, 1.256), (WOMEN_STATURE_MM, 1.162, 1.244)]
)
def test_reach_estimate_holds_the_middle_ninety_of_the_survey(
    stature_mm: int, fifth: float, ninety_fifth: float
) -> None:
    reach = reach_of(Body(stature_mm))
    assert reach is not None
    assert reach.low_mm <= round(fifth * stature_mm) + 1
    assert reach.high_mm >= round(ninety_fifth * stature_mm) - 1


def test_reach_of_the_usual_example_is_two_metres_ten() -> None:
    assert reach_of(Body(1750)) == Height(2100, 2033, 2201, measured=False)


@pytest.mark.parametrize("slope_and_start", [(1.3066, -161), (1.3233, -195)])
def test_regressions_of_the_survey_lie_within_the_reach_estimate(slope_and_start: tuple[float, int]) -> None:
    slope, start = slope_and_start
    for stature_mm in range(1500, 2000, 50):
        reach = reach_of(Body(stature_mm))
        assert reach is not None
        assert reach.low_mm <= slope * stature_mm + start <= reach.high_mm


def test_easy_stretch_and_the_sum_of_the_segments_lie_within_the_reach_estimate() -> None:
    assert REACH.low <= EASY_REACH <= REACH.high
    assert REACH.low <= 0.818 + 0.186 + 0.146 + 0.0465 <= REACH.high


def test_drawn_chest_is_that_of_the_surveyed_women_within_a_thousandth() -> None:
    assert CHEST.low < 0.720 < CHEST.taken < 0.735 < CHEST.high
    assert pytest.approx(0.719, abs=0.0011) == 0.720


def test_leg_is_the_drawn_one_and_holds_both_surveyed_ones() -> None:
    assert pytest.approx(0.621) == LEG.taken
    assert LEG.low < 0.513 - 0.0415 + 0.130 < 0.519 - 0.0385 + 0.130 < LEG.taken < LEG.high


def test_toes_reach_below_the_sole_by_the_share_of_the_study() -> None:
    assert toes_mm(Body(1750)) == 159


def test_armpit_lies_between_chest_and_shoulder() -> None:
    assert ARMPIT.low == CHEST.taken
    assert ARMPIT.low < ARMPIT.taken < ARMPIT.high < 0.820


@given(statures)
def test_estimates_lie_within_their_intervals_and_in_the_order_of_a_body(stature_mm: int) -> None:
    body = Body(stature_mm)
    chest, armpit, reach, leg = chest_of(body), armpit_of(body), reach_of(body), leg_of(body)
    assert chest
    assert armpit
    assert reach
    assert leg
    for height in (chest, armpit, reach, leg):
        assert height.low_mm <= height.mm <= height.high_mm
        assert not height.measured
    assert chest.mm <= armpit.low_mm <= armpit.mm <= stature_mm <= reach.low_mm


def test_what_was_measured_beats_the_estimate() -> None:
    body = Body(1750, chest_mm=1240, armpit_mm=1330, reach_mm=2150)
    assert chest_of(body) == Height(1240, 1240, 1240, measured=True)
    assert armpit_of(body) == Height(1330, 1330, 1330, measured=True)
    assert reach_of(body) == Height(2150, 2150, 2150, measured=True)


@pytest.mark.parametrize(("chest_mm", "low_mm"), [(1200, 1200), (1300, 1300), (1480, 1480)])
def test_armpit_is_not_estimated_below_a_measured_chest(chest_mm: int, low_mm: int) -> None:
    armpit = armpit_of(Body(1750, chest_mm=chest_mm))
    assert armpit is not None
    assert armpit.low_mm == low_mm <= armpit.mm <= armpit.high_mm


def test_nothing_is_estimated_of_an_unknown_stature() -> None:
    body = Body(chest_mm=1200)
    assert chest_of(body) == Height(1200, 1200, 1200, measured=True)
    assert (armpit_of(body), reach_of(body), leg_of(body), toes_mm(body)) == (None, None, None, None)


@pytest.mark.parametrize("given", [{"stature_mm": 799}, {"stature_mm": 1750, "chest_mm": 1000}, {"reach_mm": 3501}])
def test_what_no_body_has_is_refused_with_the_range(given: dict[str, int]) -> None:
    with pytest.raises(OutsideHumanRange, match=r"between \d+ and \d+ mm"):
        Body(**given)
