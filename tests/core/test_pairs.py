"""Which holds of one person make a pair: about the time of the first one on the next step."""

import pytest

from skills.core.pairs import DAY_US, Pair, pair_of

KNOWN = [(-90, 900), (-20, 300), (5, 320), (27, 310), (29, 800)]
NEXT = [(0, 50), (10, 80), (28, 90), (29, 200)]


def days(holds):
    return [(day * DAY_US, tenths) for day, tenths in holds]


def test_the_best_of_both_from_four_weeks_before_the_first_to_four_weeks_after():
    assert pair_of(days(KNOWN), days(NEXT)) == Pair(320, 90)


def test_the_order_of_the_holds_is_of_no_weight():
    assert pair_of(days(KNOWN[::-1]), days(NEXT[::-1])) == Pair(320, 90)


@pytest.mark.parametrize(
    ("known", "next_"),
    [
        pytest.param(KNOWN, [], id="nothing on the next step"),
        pytest.param([], NEXT, id="nothing on the known step"),
        pytest.param([(-29, 300), (29, 300)], NEXT, id="the known step at another time alone"),
        pytest.param([(0, 60)], NEXT, id="a known hold as short as the curve's end"),
        pytest.param([(0, 4100)], NEXT, id="a hold longer than the curves go"),
    ],
)
def test_else_there_is_none(known, next_):
    assert pair_of(days(known), days(next_)) is None
