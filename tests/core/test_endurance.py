"""Endurance against the published tables: Frey Law and Avin 2010, and Rohmert 1960 in the two forms others print.

Seconds to a tenth, worked out from the printed coefficients outside of this project; those of the general law at 20,
35, 50, 65 and 80 % stand in a published example as well.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from skills.core.endurance import (
    JOINED,
    JOINED_LEAST,
    OTHERS,
    REGIONS,
    SPREAD,
    TURN,
    NotAShareError,
    joined_seconds,
    rohmert_seconds,
    rohmert_shifted_seconds,
)

SHARES = (0.2, 0.3, 0.5, 0.7, 0.8, 1.0)
FREY_LAW_AVIN = {
    "general": (530.6, 237.8, 86.5, 44.4, 34.1, 21.9),
    "ankle": (955.7, 414.6, 144.7, 72.4, 55.0, 34.7),
    "trunk": (876.0, 349.0, 109.4, 51.0, 37.7, 22.7),
    "elbow": (630.3, 257.2, 83.2, 39.5, 29.4, 18.0),
    "knee": (399.4, 186.4, 71.3, 37.9, 29.5, 19.4),
    "shoulder": (282.6, 134.6, 52.8, 28.5, 22.4, 14.9),
    "grip": (447.7, 233.1, 102.4, 59.6, 48.1, 33.5),
}
TENTHS = tuple(tenth / 10 for tenth in range(2, 11))
POLYNOMIAL = (390.0, 152.2, 93.8, 66.0, 47.8, 34.0, 23.0, 13.8, 6.0)
SHIFTED = (384.8, 159.4, 96.6, 64.9, 45.1, 31.4, 21.2, 13.3, 6.9)

CURVES = (JOINED, *OTHERS)
shares = st.floats(JOINED_LEAST, 1.0)


@pytest.mark.parametrize(("region", "seconds"), FREY_LAW_AVIN.items())
def test_each_region_is_held_as_long_as_its_table_says(region, seconds):
    assert [REGIONS[region].at(share) for share in SHARES] == pytest.approx(seconds, abs=0.051)


def test_the_general_law_gives_the_published_example():
    told = [REGIONS["general"].at(share) for share in (0.2, 0.35, 0.5, 0.65, 0.8)]
    assert told == pytest.approx((530.6, 175.2, 86.5, 51.4, 34.1), abs=0.051)


def test_at_half_the_force_the_joints_come_in_the_published_order():
    by_time = sorted(REGIONS, key=lambda region: -REGIONS[region].at(0.5))
    assert [region for region in by_time if region != "general"] == [
        "ankle", "trunk", "grip", "elbow", "knee", "shoulder",
    ]  # fmt: skip


def test_both_forms_of_rohmert_give_their_tables():
    assert [rohmert_seconds(share) for share in TENTHS] == pytest.approx(POLYNOMIAL, abs=0.051)
    assert [rohmert_shifted_seconds(share) for share in TENTHS] == pytest.approx(SHIFTED, abs=0.051)


@given(st.floats(0.2, 0.9))
def test_both_forms_of_rohmert_agree_within_nine_per_cent(share):
    assert rohmert_shifted_seconds(share) == pytest.approx(rohmert_seconds(share), rel=0.09)


def test_from_the_turn_up_the_joined_curve_is_rohmert_and_below_it_keeps_to_him():
    assert TURN == 0.7
    for share in (0.7, 0.8, 0.95, 1.0):
        assert joined_seconds(share) == rohmert_seconds(share)
    assert joined_seconds(TURN - 1e-9) == pytest.approx(rohmert_seconds(TURN))
    assert joined_seconds(0.5) == pytest.approx(rohmert_seconds(0.5), rel=0.04)
    assert joined_seconds(0.25) == pytest.approx(rohmert_seconds(0.25), rel=0.2)
    assert joined_seconds(0.3) / joined_seconds(0.6) == pytest.approx(0.5**-1.98)  # the general law's own exponent


def test_at_the_whole_force_the_curves_disagree_as_the_sources_do():
    assert REGIONS["general"].at(1) / rohmert_seconds(1) == pytest.approx(21.92 / 6)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
@given(one=shares, other=shares)
def test_more_force_is_never_held_longer(curve, one, other):
    low, high = sorted((one, other))
    assert curve.seconds(high) <= curve.seconds(low)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
@given(share=shares)
def test_the_share_that_a_hold_tells_is_held_so_long(curve, share):
    assert curve.share(curve.seconds(share)) == pytest.approx(share, abs=1e-9)


@given(shares)
def test_the_inverse_of_a_power_law_is_the_one_that_scipy_finds(share):
    law = REGIONS["trunk"]
    found = brentq(lambda f: law.at(f) - law.at(share), 0.1, 1)
    assert law.share(law.at(share)) == pytest.approx(found)


def test_a_hold_shorter_than_the_whole_force_is_held_asks_the_whole():
    assert JOINED.share(6.0) == 1
    assert JOINED.share(2.0) == 1


def test_a_hold_beyond_the_curve_is_refused_with_its_end():
    with pytest.raises(NotAShareError, match="ends at 406 s"):
        JOINED.share(500)


@pytest.mark.parametrize("share", [50, 1.01, 0.0, -0.5, 0.05, float("nan"), float("inf")])
@pytest.mark.parametrize("seconds", [REGIONS["general"].at, rohmert_seconds, rohmert_shifted_seconds, joined_seconds])
def test_a_percentage_or_more_than_the_whole_is_refused(seconds, share):
    with pytest.raises(NotAShareError, match=r"half of it is written 0\.5"):
        seconds(share)


@given(st.floats(0.21, 0.69))
def test_the_steepness_of_a_power_law_is_its_exponent(share):
    assert OTHERS[2].steepness(share) == pytest.approx(1.98, rel=1e-6)


def test_steepness_at_the_whole_force_is_that_of_the_polynomial():
    # d ln ET / d ln f of -1.5 + 2.1/f - 0.6/f² + 0.1/f³ at 1: (2.1 - 1.2 + 0.3) / 0.1
    assert JOINED.steepness(1.0) == pytest.approx(12, rel=1e-3)


def test_the_spread_holds_the_wider_published_band():
    assert pytest.approx(0.2602, abs=5e-5) == SPREAD
