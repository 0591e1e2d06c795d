"""The trend of holds: Sen's own example, vectors worked out with SciPy's code, and pymannkendall as a second library.

The vectors were computed with SciPy 1.17.1; Sen PK, Journal of the American Statistical Association 63:1379-1389, 1968
prints the slope 4 and the interval 3.71 to 4.38 of the first.
"""

from datetime import date, timedelta
from itertools import combinations
from statistics import median

import pymannkendall
import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.trend import (
    FAR_DAYS,
    LEAST_RESULTS,
    PLATEAU_DAYS,
    DayBest,
    Plateau,
    Trend,
    plateau_of,
    reach_of,
    slope_of,
    trend_of,
)

DAY = date(2026, 3, 2)
SEN = ([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78])
IRREGULAR = ([0, 3, 7, 10, 14, 21, 28], [4.1, 4.6, 5.0, 4.9, 5.8, 6.4, 7.2])


def results(tenths, days=None) -> list[DayBest]:
    days = range(0, 7 * len(tenths), 7) if days is None else days
    return [DayBest(DAY + timedelta(days=day), each) for day, each in zip(days, tenths, strict=True)]


def trend(tenths, days=None) -> Trend:
    found = trend_of(results(tenths, days))
    assert found is not None
    return found


# ---- The slope ---------------------------------------------------------------------------------------------------


def test_sens_example_has_the_published_slope_and_interval():
    found = slope_of(*SEN, percent=93)
    assert (found.a_day, found.low, found.high) == pytest.approx((4, 26 / 7, 35 / 8))
    assert slope_of(*SEN, percent=95).low == pytest.approx(26 / 7)  # the same order statistics


def test_sens_example_has_the_interval_of_ninety_that_we_show():
    found = slope_of(*SEN)
    assert (found.low, found.high) == pytest.approx((3.75, 4.1818182))
    assert found.at(0) == pytest.approx(4.0)  # the intercept: median of y less slope times median of x


VECTORS = [
    pytest.param([2, 2, 3, 3, 4, 5, 5, 6], (0.6, 1.4, 0.5, 0.75), id="up with ties"),
    pytest.param([5] * 6, (0, 5, 0, 0), id="flat"),
    pytest.param([10, 12, 11, 30, 13, 14, 15, 16], (0.928571, 10.25, 0.333333, 1.0), id="one outlier"),
    pytest.param([20, 18, 19, 15, 14, 10], (-2, 21.5, -4, -0.5), id="down"),
]


@pytest.mark.parametrize(("seconds", "expected"), VECTORS)
def test_vectors_with_even_days_give_slope_intercept_and_interval(seconds, expected):
    found = slope_of(range(len(seconds)), seconds, percent=95)
    assert (found.a_day, found.at(0), found.low, found.high) == pytest.approx(expected, abs=5e-7)


def test_irregular_days_are_taken_as_they_are():
    found = slope_of(*IRREGULAR, percent=95)
    assert (found.a_day, found.low, found.high) == pytest.approx((0.1090909, 0.0857143, 0.1285714), abs=5e-8)
    assert found.a_day * 7 == pytest.approx(0.7636364)


seconds = st.lists(st.integers(20, 600).map(lambda tenths: tenths / 10), min_size=5, max_size=20)
spaced = st.lists(st.integers(1, 30), min_size=5, max_size=20)


@given(seconds)
def test_the_slope_is_that_of_a_second_library(holds):
    second = pymannkendall.sens_slope(holds)
    found = slope_of(range(len(holds)), holds)
    assert found.a_day == pytest.approx(second.slope)
    assert found.at(0) == pytest.approx(second.intercept)


@given(seconds, spaced)
def test_the_slope_is_the_median_over_all_pairs_and_lies_in_its_interval(holds, gaps):
    days = [sum(gaps[: place % len(gaps) + 1]) + place * 31 for place in range(len(holds))]
    days.sort()
    points = sorted(dict(zip(days, holds, strict=True)).items())
    slopes = [(y - b) / (x - a) for (a, b), (x, y) in combinations(points, 2)]
    found = slope_of([x for x, _ in points], [y for _, y in points])
    assert found.a_day == pytest.approx(median(slopes))
    assert min(slopes) - 1e-9 <= found.low <= found.a_day <= found.high <= max(slopes) + 1e-9


@given(seconds, st.integers(1, 1000), st.floats(0.5, 20))
def test_another_beginning_and_a_constant_more_change_no_slope(holds, later, more):
    here = slope_of(range(len(holds)), holds)
    there = slope_of([day + later for day in range(len(holds))], [each + more for each in holds])
    assert (there.a_day, there.low, there.high) == pytest.approx((here.a_day, here.low, here.high), abs=1e-9)


@given(st.integers(0, 11), st.integers(20, 3000))
def test_one_wild_day_among_twelve_bends_no_steady_rise_down(place, wild):
    tenths = [50 + 2 * each for each in range(12)]
    tenths[place] = wild
    assert slope_of(range(12), [each / 10 for each in tenths]).a_day == pytest.approx(0.2, abs=0.05)


# ---- What is said of it ------------------------------------------------------------------------------------------


def test_under_five_results_no_trend_is_told():
    assert LEAST_RESULTS == 5
    assert trend_of(results([50, 60, 70, 80])) is None
    assert trend_of([]) is None
    assert trend([50, 60, 70, 80, 90]).direction == "longer"


def test_two_results_of_one_day_and_days_out_of_order_are_refused():
    for days in ([0, 0, 1, 2, 3], [3, 2, 5, 6, 7]):
        with pytest.raises(ValueError, match="one result a day"):
            trend_of(results([50] * 5, days))


def test_a_change_that_no_hand_can_time_is_no_direction():
    slowly = [50] * 4 + [51] * 4 + [52] * 4
    assert trend(slowly).slope.low > 0
    assert trend(slowly).direction == "none"
    assert trend([50, 51, 52, 53, 54, 55]).direction == "longer"


@given(st.lists(st.integers(50, 52), min_size=5, max_size=30))
def test_holds_within_a_fifth_of_a_second_never_make_progress(tenths):
    found = trend(tenths)
    assert found.direction == "none"
    assert reach_of(found, 60, DAY + timedelta(days=300)) is None


def test_flat_holds_have_no_direction_and_no_day():
    found = trend([50] * 9)
    assert (found.slope.a_day, found.slope.low, found.slope.high, found.direction) == (0, 0, 0, "none")
    assert reach_of(found, 100, DAY) is None


def test_falling_holds_are_told_as_shorter_and_meet_no_target():
    found = trend([200, 180, 190, 150, 140, 100])
    assert found.direction == "shorter"
    assert reach_of(found, 300, DAY) is None


def test_the_height_of_the_line_is_that_of_its_middle():
    found = trend([50, 60, 70, 80, 90])
    assert found.height_on(DAY + timedelta(days=14)) == pytest.approx(7)
    assert (found.span_days, found.best.tenths) == (28, 90)


# ---- The target --------------------------------------------------------------------------------------------------


def test_a_straight_rise_meets_its_target_on_one_day():
    """1 s a week through 9 s on the 28th day: 20 s are met 77 days later."""
    found = trend([50, 60, 70, 80, 90])
    reach = reach_of(found, 200, DAY + timedelta(days=28))
    assert reach is not None
    assert reach.earliest == reach.latest == DAY + timedelta(days=28 + 77)


def test_the_days_are_those_of_the_two_ends_of_the_slope():
    days, holds = IRREGULAR
    found = trend([round(each * 10) for each in holds], days)
    today = DAY + timedelta(days=28)
    reach = reach_of(found, 100, today)
    assert reach is not None
    lacking = 10 - 5.0  # the median hold, on the median day
    assert reach.earliest == DAY + timedelta(days=round(10 + lacking / found.slope.high))
    assert reach.latest == DAY + timedelta(days=round(10 + lacking / found.slope.low))
    assert reach.earliest < reach.latest


def test_a_slope_that_may_be_nought_has_the_target_not_in_sight():
    found = trend([50, 90, 40, 80, 60, 70])
    assert found.slope.low <= 0 < found.slope.high
    assert reach_of(found, 200, DAY) is None


def test_a_target_years_ahead_gets_no_day():
    found = trend([50, 51, 52, 53, 54, 55, 56])
    reach = reach_of(found, 3000, DAY + timedelta(days=42))
    assert reach is not None
    assert (reach.earliest, reach.latest) == (None, None)


@given(st.lists(st.integers(20, 400), min_size=5, max_size=15), st.integers(1, 600), st.integers(0, 200))
def test_days_are_never_past_never_beyond_two_years_and_in_order(tenths, target, ago):
    found = trend(tenths)
    today = found.results[-1].on + timedelta(days=ago)
    reach = reach_of(found, target, today)
    if reach is None:
        assert found.direction != "longer" or found.slope.low <= 0
        return
    known = [day for day in (reach.earliest, reach.latest) if day]
    assert known == sorted(known)
    assert all(today <= day <= today + timedelta(days=FAR_DAYS) for day in known)
    assert reach.earliest is not None or reach.latest is None


# ---- Plateaus ----------------------------------------------------------------------------------------------------


def test_four_weeks_and_five_results_without_a_longer_hold_are_a_plateau():
    rows = results([50, 80, 78, 81, 79, 80, 80], [0, 7, 14, 21, 28, 30, 35])
    assert plateau_of(rows) == Plateau(rows[1], results=5, days=28)


@pytest.mark.parametrize(
    ("tenths", "days"),
    [
        pytest.param([50, 80, 78, 81, 79, 80], [0, 7, 14, 21, 28, 36], id="four results after the best"),
        pytest.param([50, 80, 78, 81, 79, 80, 80], [0, 7, 14, 21, 28, 30, 34], id="a day short of four weeks"),
        pytest.param([50, 80, 78, 81, 79, 80, 83], [0, 7, 14, 21, 28, 30, 35], id="0.3 s longer on the last day"),
    ],
)
def test_less_than_that_is_none(tenths, days):
    assert plateau_of(results(tenths, days)) is None


def test_a_rise_by_single_tenths_counts_once_it_adds_up():
    assert plateau_of(results([80, 81, 82, 83, 84, 85, 86, 87])) is None
    assert plateau_of(results([80, 81, 82, 81, 82, 81])) is not None


def test_a_plateau_counts_days_between_results():
    assert PLATEAU_DAYS == 28
    assert plateau_of(results([80] * 6, [0, 1, 2, 3, 4, 28])) == Plateau(DayBest(DAY, 80), results=5, days=28)
