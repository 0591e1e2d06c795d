"""The lower end of the Wilson interval, decided in whole numbers, against printed tables and two libraries."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, chi2

from skills.core import reliability
from skills.core.reliability import MOST_PERCENT, Rate, shown_percent

# Newcombe RG (1998), Statistics in Medicine 17:857-872, table I, method 3 (score, no continuity correction), 95 %.
NEWCOMBE = [(81, 263, "0.2553"), (15, 148, "0.0624"), (0, 20, "0.0000"), (1, 29, "0.0061")]

# Lower ends from SciPy 1.17.1 (binomtest … proportion_ci, method "wilson"); statsmodels 0.15.0 agrees to 7 decimals.
LOWER_ENDS = [
    # clean, of, at 95 %, 90 % and 80 % confidence
    (81, 263, "0.2552885", None, None),
    (15, 148, "0.0623864", None, None),
    (1, 29, "0.0061132", None, None),
    (1, 1, "0.2065493", "0.2698659", "0.3784475"),
    (2, 2, "0.3423802", "0.4250306", "0.5490924"),
    (3, 3, "0.4385030", "0.5258044", "0.6462210"),
    (5, 5, "0.5655175", "0.6488835", "0.7527429"),
    (10, 10, "0.7224672", "0.7870580", "0.8589313"),
    (20, 20, "0.8388748", "0.8808422", "0.9241130"),
    (4, 5, "0.3755346", "0.4352926", "0.5135415"),
    (8, 10, "0.4901625", "0.5407928", "0.6015960"),
    (9, 10, "0.5958500", "0.6522813", "0.7175557"),
    (18, 20, "0.6989664", "0.7383370", "0.7816041"),
    (19, 20, "0.7638688", "0.8039928", "0.8467799"),
    (0, 1, "0", "0", "0"),
    (0, 3, "0", "0", "0"),
    (0, 5, "0", "0", "0"),
    (0, 10, "0", "0", "0"),
]

# The fewest clean of 5, 10, 20, 40 and 80 tries whose lower end reaches the rate: the same two libraries.
FEWEST_CLEAN = {
    80: {50: (4, 8, 13, 25, 46), 60: (5, 8, 15, 28, 54), 70: (5, 9, 17, 32, 62), 80: (None, 10, 19, 36, 69)},
    90: {50: (5, 8, 14, 26, 48), 60: (5, 9, 16, 30, 56), 70: (None, 10, 18, 33, 63), 80: (None, None, 19, 37, 70)},
    95: {50: (5, 9, 15, 27, 49), 60: (None, 10, 17, 31, 57), 70: (None, 10, 19, 34, 65), 80: (None, None, 20, 37, 72)},
}

# All tries clean: n / (n + z²) reaches the rate from the ceiling of z² L / (1 - L) on (SciPy's z).
ALL_CLEAN = {80: (2, 3, 4, 7, 15), 90: (3, 5, 7, 11, 25), 95: (4, 6, 9, 16, 35)}


@pytest.mark.parametrize(("clean", "of", "printed"), NEWCOMBE)
def test_whole_per_cents_below_newcombes_lower_end_are_shown_and_those_above_are_not(clean, of, printed):
    shown = [percent for percent in range(1, MOST_PERCENT + 1) if Rate(percent, 95).shown_by(clean, of)]
    assert shown == [percent for percent in range(1, MOST_PERCENT + 1) if Fraction(percent, 100) < Fraction(printed)]


@pytest.mark.parametrize(
    ("clean", "of", "confidence", "lower"),
    [
        (clean, of, confidence, lower)
        for clean, of, *ends in LOWER_ENDS
        for confidence, lower in zip((95, 90, 80), ends, strict=True)
        if lower is not None
    ],
)
def test_decisions_stand_on_both_sides_of_each_lower_end(clean, of, confidence, lower):
    below = int(Fraction(lower) * 100)
    assert shown_percent(clean, of, confidence) == below
    assert below == 0 or Rate(below, confidence).shown_by(clean, of)
    assert not Rate(below + 1, confidence).shown_by(clean, of)


@pytest.mark.parametrize(("confidence", "fewest_clean"), FEWEST_CLEAN.items())
def test_the_fewest_clean_tries_are_those_of_two_libraries(confidence, fewest_clean):
    for percent, row in fewest_clean.items():
        rate = Rate(percent, confidence)
        for of, fewest in zip((5, 10, 20, 40, 80), row, strict=True):
            enough = [clean for clean in range(of + 1) if rate.shown_by(clean, of)]
            assert enough == ([] if fewest is None else [*range(fewest, of + 1)])
            assert rate.reachable_with(of) is (fewest is not None)


@pytest.mark.parametrize("confidence", ALL_CLEAN)
def test_clean_tries_alone_show_a_rate_from_the_closed_form_on(confidence):
    assert (
        tuple(Rate(percent, confidence).more_clean((), None) for percent in range(50, 91, 10))
        == (ALL_CLEAN[confidence])
    )


@pytest.mark.parametrize("confidence", [80, 90, 95])
def test_every_decision_on_up_to_thirty_tries_is_that_of_scipy(confidence):
    for of in range(1, 31):
        for clean in range(of + 1):
            lower = binomtest(clean, of).proportion_ci(confidence / 100, method="wilson").low
            # No lower end lies near a whole per cent, so that a float's last digits decide nothing.
            assert abs(lower * 100 - round(lower * 100)) > 1e-6 or lower < 1e-12
            shown = [percent for percent in range(1, MOST_PERCENT + 1) if Rate(percent, confidence).shown_by(clean, of)]
            assert shown == [percent for percent in range(1, MOST_PERCENT + 1) if percent / 100 < lower]


@pytest.mark.parametrize("confidence", [80, 90, 95])
def test_the_pinned_quantiles_are_those_of_scipy(confidence):
    pinned = reliability._Z_SQUARED[confidence] / reliability._SCALE
    assert pinned == pytest.approx(chi2.ppf(confidence / 100, 1), rel=0, abs=1e-11)


def test_no_tries_show_nothing():
    assert not Rate(1, 80).shown_by(0, 0)
    assert shown_percent(0, 0, 95) == 0


rates = st.builds(Rate, st.integers(1, 80), st.sampled_from([80, 90, 95]))


@given(rates, st.lists(st.booleans(), max_size=12))
def test_more_clean_tries_in_a_row_are_enough_and_one_fewer_is_not(rate, results):
    def shown_with(more):
        later = [*results, *[True] * more]
        return rate.shown_by(sum(later), len(later))

    more = rate.more_clean(results, None)
    assert shown_with(more)
    assert more == 0 or not shown_with(more - 1)


@given(rates, st.lists(st.booleans(), max_size=30), st.integers(0, 5))
def test_of_the_last_few_tries_the_old_misses_leave_as_clean_ones_come(rate, results, spare):
    of = rate.more_clean((), None) + spare

    def shown_with(more):
        last = [*results, *[True] * more][-of:]
        return rate.shown_by(sum(last), len(last))

    more = rate.more_clean(results[-of:], of)
    assert more <= of
    assert shown_with(more)
    assert more == 0 or not shown_with(more - 1)


@given(rates, st.integers(0, 60), st.integers(0, 60))
def test_one_more_clean_try_never_shows_less_and_one_more_miss_never_more(rate, clean, missed):
    of = clean + missed
    assert rate.shown_by(clean, of) <= rate.shown_by(clean + 1, of + 1)
    assert rate.shown_by(clean, of + 1) <= rate.shown_by(clean, of)
