"""The same count in a row, and in any order."""

import pytest

from skills.core.criteria import (
    AllOf,
    AngleOf,
    BestOf,
    Counting,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
)
from skills.core.orders import in_a_row, in_any_order

TWO_DAYS = Counting(dates=2, window_days=14)
HOLD, SET = HoldTarget(50), RepsTarget(3, unbroken=True)


@pytest.mark.parametrize(
    ("rule", "row"),
    [
        (HoldsOf(3, 50, TWO_DAYS), LastOf(3, 3, HOLD, TWO_DAYS)),
        (RepsOf(2, 3, unbroken=True), LastOf(2, 2, SET)),
        (LastOf(3, 5, HOLD, TWO_DAYS), LastOf(3, 3, HOLD, TWO_DAYS)),
        (AllOf((StepPassed("arch"), HoldsOf(3, 50))), AllOf((StepPassed("arch"), LastOf(3, 3, HOLD)))),
    ],
)
def test_a_count_in_a_row_is_the_last_so_many_all_clean(rule, row):
    assert in_a_row(rule) == row


@pytest.mark.parametrize(
    "rule",
    [
        HoldsOf(1, 50),
        HoldsOf(3, 50, Counting(clean=False)),  # the last of asks for clean tries: it would be another rule
        LastOf(3, 3, HOLD),
        BestOf(HOLD),
        AngleOf(3, 90, "at_least", 0),
        ReliabilityOf(60, 90, HOLD, 10),
        StepPassed("arch"),
    ],
)
def test_what_has_no_count_of_clean_tries_stays(rule):
    assert in_a_row(rule) == rule


@pytest.mark.parametrize(
    ("rule", "any_order"),
    [
        (LastOf(3, 5, HOLD, TWO_DAYS), HoldsOf(3, 50, TWO_DAYS)),
        (LastOf(2, 2, SET), RepsOf(2, 3, unbroken=True)),
        (AllOf((LastOf(3, 3, HOLD), BestOf(HOLD))), AllOf((HoldsOf(3, 50), BestOf(HOLD)))),
        (HoldsOf(3, 50), HoldsOf(3, 50)),
    ],
)
def test_in_any_order_it_is_a_count(rule, any_order):
    assert in_any_order(rule) == any_order
