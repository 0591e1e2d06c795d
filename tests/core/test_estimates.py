"""The estimate for the next hold: against statics and curves by hand, and against people whose strength is known."""

from dataclasses import replace
from itertools import islice
from math import exp, hypot, log, sqrt
from random import Random
from statistics import fmean, median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.endurance import JOINED, REGIONS, SPREAD, Curve
from skills.core.estimates import (
    ENOUGH_PAIRS,
    LEAST_S,
    LONGEST_S,
    POSE_UNSURE,
    TABLES_UNSURE,
    Estimate,
    Lever,
    NoEstimateError,
    calibration,
    estimate,
    holds,
    lever_between,
)
from skills.core.levers import Pose
from skills.core.pairs import Pair

TUCK, LEVEL = Pose(90, 120), Pose(90, 0)
LEVER = lever_between(TUCK, LEVEL)


# ---- By hand -----------------------------------------------------------------------------------------------------


def test_the_lever_from_tuck_to_straight_is_that_of_the_tables():
    """0.625 by Winter's segments summed, 0.658 and 0.611 by de Leva's men and women."""
    assert LEVER.ratio == pytest.approx(0.6249, abs=5e-5)
    assert (LEVER.low, LEVER.high) == pytest.approx((0.611, 0.658), abs=5e-4)


def test_a_lever_is_unsure_by_the_tables_and_by_a_knee_ten_degrees_off():
    off = lever_between(Pose(90, 110), LEVEL).ratio / LEVER.ratio
    assert log(off) == pytest.approx(POSE_UNSURE, abs=0.005)
    assert log(LEVER.high / LEVER.low) / 2 < TABLES_UNSURE == 0.05
    assert LEVER.unsure == pytest.approx(hypot(0.05, 0.06))
    assert Lever(0.6, 0.5, 0.7).unsure > LEVER.unsure


# Tuck holds that imply a straight hold, by Rohmert's polynomial and by his shifted power alone.
IMPLIED = [(7, 45, 41), (10, 49, 46), (15, 56, 55), (20, 62, 63), (30, 76, 80)]


@pytest.mark.parametrize(("straight", "polynomial", "shifted"), IMPLIED)
def test_the_tuck_that_implies_a_straight_hold_is_the_one_of_rohmert_within_the_curves_disagreement(
    straight, polynomial, shifted
):
    low, high = sorted((polynomial, shifted))
    told = [seconds for seconds in range(20, 120) if estimate(seconds, LEVER).seconds >= straight]
    assert low - 3 <= told[0] <= high + 3


@pytest.mark.parametrize(("ratio", "tuck"), [(0.75, 33), (0.573, 58)])
def test_other_levers_imply_ten_seconds_as_worked_out_by_hand(ratio, tuck):
    assert estimate(tuck, Lever(ratio, ratio, ratio)).seconds == pytest.approx(10, abs=1.5)


def test_shares_are_those_of_the_curve_and_the_lever():
    told = estimate(60, LEVER)
    assert told.share_known == pytest.approx(JOINED.share(60))
    assert told.share_next == pytest.approx(JOINED.share(60) / LEVER.ratio)
    assert told.low < told.seconds < told.high


def test_a_short_hold_says_that_the_next_one_is_not_there_yet():
    told = estimate(20, LEVER)
    assert told.share_next > 1
    assert (told.seconds, told.low) == (LEAST_S, LEAST_S)


def test_a_hold_off_the_curve_is_refused_in_words():
    with pytest.raises(NoEstimateError, match="longer than the curves are known for, which is 406 s"):
        estimate(600, LEVER)
    with pytest.raises(NoEstimateError, match="asks so little"):
        estimate(300, Lever(2, 2, 2))
    with pytest.raises(NoEstimateError, match="tells nothing: the curves end at 6 s"):
        estimate(5.6, LEVER)


@pytest.mark.parametrize("asked", [Pose(150, 0), Pose(111, 90)])
def test_high_thighs_are_refused_because_lever_and_hardness_part(asked):
    with pytest.raises(NoEstimateError, match="above 110°"):
        lever_between(Pose(100, 120), asked)


def test_another_fold_of_the_hips_is_refused_with_both_angles():
    with pytest.raises(NoEstimateError, match="60° and 90°"):
        lever_between(Pose(60, 0), LEVEL)


# ---- What never happens ------------------------------------------------------------------------------------------

tenths = st.integers(20, int(LONGEST_S * 10))
pairs = st.lists(st.builds(Pair, st.integers(61, int(LONGEST_S * 10)), tenths), max_size=8)


@given(st.floats(6.1, 400), st.floats(0.5, 1.0), pairs)
def test_a_band_holds_its_estimate_and_stays_on_the_curve(seconds, ratio, gym):
    told = estimate(seconds, Lever(ratio, ratio, ratio), gym)
    assert LEAST_S <= told.low <= told.seconds <= told.high <= LONGEST_S * (1 + 1e-9)
    assert told.pairs == len(gym)


@given(st.floats(6.1, 400), st.floats(6.1, 400), st.floats(0.5, 1.0))
def test_who_holds_longer_is_told_to_hold_longer(one, other, ratio):
    lever = Lever(ratio, ratio, ratio)
    short, long = sorted((one, other))
    assert estimate(short, lever).seconds <= estimate(long, lever).seconds


@given(pairs, st.randoms())
def test_the_order_of_the_pairs_changes_nothing(gym, lots):
    shuffled = [*gym]
    lots.shuffle(shuffled)
    assert estimate(60, LEVER, shuffled).seconds == pytest.approx(estimate(60, LEVER, gym).seconds)


def test_one_pair_moves_the_estimate_less_than_many_like_it():
    alone = estimate(60, LEVER).seconds
    one, many = (estimate(60, LEVER, [Pair(600, 400)] * count).seconds for count in (1, 20))
    assert alone < one < many
    assert many == pytest.approx(40, abs=1)


def test_pairs_that_agree_with_the_model_narrow_the_band_and_leave_the_estimate():
    alone = estimate(60, LEVER)
    with_pairs = estimate(60, LEVER, [Pair(600, round(alone.seconds * 10))] * 12)
    assert with_pairs.seconds == pytest.approx(alone.seconds, rel=0.01)
    assert with_pairs.high - with_pairs.low < alone.high - alone.low


def test_pairs_far_apart_widen_the_band():
    close, apart = ([Pair(600, 400)] * 8, [Pair(600, 150), Pair(600, 650)] * 4)
    narrow, wide = (estimate(60, LEVER, gym) for gym in (close, apart))
    assert wide.high - wide.low > narrow.high - narrow.low


def test_calibration_tells_each_pair_by_the_others_alone():
    gym = [*[Pair(600, 300)] * 6, Pair(600, 60)]
    told = calibration(gym, LEVER)
    assert (told.pairs, told.inside) == (7, 6)
    others = [estimate(60, LEVER, [*gym[:place], *gym[place + 1 :]]).seconds for place in range(7)]
    assert told.error_seconds == pytest.approx(
        median(abs(told - pair.next_tenths / 10) for told, pair in zip(others, gym, strict=True))
    )


def test_calibration_tells_no_error_where_estimate_and_hold_lie_below_the_curve():
    told = calibration([Pair(70, 50)] * 6, LEVER)
    assert (told.pairs, told.inside, told.error_seconds) == (6, 6, None)


def test_a_hold_shorter_than_the_curve_goes_lies_in_a_band_that_ends_there():
    told = estimate(45, LEVER)
    assert told.low == LEAST_S
    assert holds(told, 2.0)
    assert not holds(replace(told, low=7.0), 2.0)


# ---- People whose strength is known ------------------------------------------------------------------------------

Person = tuple[float, float]  # seconds held on the known step and on the next, 0 for not at all


def people(lots: Random, ratio: float, count: int, curve: Curve = JOINED) -> list[Person]:
    """Draw people: how strong they are, how much they endure, how the two days went.

    None is so weak that the next step asks more than nine tenths: of who is far from it any band is right.
    """
    found: list[Person] = []
    while len(found) < count:
        share = exp(lots.uniform(log(0.3), log(0.9 * ratio)))
        own, one, other = (lots.gauss(0, SPREAD / sqrt(2)) for _ in range(3))
        known = curve.seconds(share) * exp(own + one)
        asked = share / ratio
        held = curve.seconds(asked) * exp(own + other) if asked <= 1 else 0.0
        if LEAST_S < known < LONGEST_S:
            found.append((known, held))
    return found


def pairs_of(crowd: list[Person], most: int) -> list[Pair]:
    """Return those who hold both steps, as a gym would have clocked them."""
    both = (Pair(int(known * 10), int(held * 10)) for known, held in crowd if 2 <= held <= LONGEST_S)
    return [*islice(both, most)]


def covered(crowd: list[Person], lever: Lever, gym: list[Pair]) -> tuple[float, float]:
    """Return the share of people whose hold lies in the band, and the median error in seconds."""
    told: list[tuple[Estimate, float]] = [(estimate(known, lever, gym), held) for known, held in crowd]
    inside = fmean(holds(each, held) for each, held in told)
    return inside, median(abs(each.seconds - max(held, LEAST_S)) for each, held in told)


@pytest.mark.parametrize("ratio", [0.573, 0.625, 0.75])
def test_of_people_as_the_model_has_them_85_to_95_of_100_lie_in_the_band(ratio):
    """Forty gyms of fifty people. In each the lever is off by what the model allows lever and curves together."""
    lots, lever = Random(f"as told {ratio}"), Lever(ratio, ratio, ratio)
    found = [covered(people(lots, min(ratio * exp(lots.gauss(0, 0.1)), 1.0), 50), lever, [])[0] for _ in range(40)]
    assert 0.85 <= fmean(found) <= 0.95


TRUNK = Curve("the trunk's law", REGIONS["trunk"].at, 0.1)
OTHERWISE = [
    pytest.param(JOINED, 1.3, id="a lever that grows less than the segments say"),
    pytest.param(TRUNK, 1.25, id="the curve of the trunk, and another lever"),
]


@pytest.mark.parametrize("ratio", [0.625, 0.7])
@pytest.mark.parametrize(("curve", "lever_off"), OTHERWISE)
def test_where_the_truth_is_another_curve_the_gyms_pairs_pull_the_band_over_it(curve, lever_off, ratio):
    lots, lever = Random(f"otherwise {lever_off} {ratio}"), Lever(ratio, ratio, ratio)
    alone, pulled = [], []
    for _ in range(20):
        gym = pairs_of(people(lots, ratio * lever_off, 60, curve), 20)
        crowd = people(lots, ratio * lever_off, 50, curve)
        alone.append(covered(crowd, lever, []))
        pulled.append(covered(crowd, lever, gym))
    assert fmean(inside for inside, _ in alone) < 0.85
    assert 0.85 <= fmean(inside for inside, _ in pulled) <= 0.95
    assert fmean(error for _, error in pulled) < 0.7 * fmean(error for _, error in alone)


def test_five_pairs_already_help():
    lots, gains = Random("five"), []
    for _ in range(20):
        gym = pairs_of(people(lots, 0.8, 60), ENOUGH_PAIRS)
        crowd = people(lots, 0.8, 30)
        gains.append(covered(crowd, LEVER, [])[1] - covered(crowd, LEVER, gym)[1])
    assert fmean(gains) > 3
