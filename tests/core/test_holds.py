from decimal import ROUND_UP, Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.holds import HOLD_FLOOR_TENTHS, HoldLengthError, cut_to_tenths, is_hold, needed_tenths


@pytest.mark.parametrize(
    ("seconds", "tenths"),
    [
        ("19.99", 199),
        ("19.9", 199),
        ("20", 200),
        (" 5.05 ", 50),
        ("0.09", 0),
        ("19." + "9" * 60, 199),
        (20, 200),
        (0, 0),
        (Decimal("4.99"), 49),
        (Decimal(3600), 36_000),
        ("-0", 0),
    ],
)
def test_length_is_cut_to_tenths_and_never_rounded_up(seconds, tenths):
    assert cut_to_tenths(seconds) == tenths


def test_length_is_cut_even_where_arithmetic_is_set_to_round_up():
    with localcontext() as context:
        context.rounding = ROUND_UP
        assert cut_to_tenths("1.99") == 19


@given(st.decimals(min_value=0, max_value=3600, places=4))
def test_cut_length_lies_less_than_a_tenth_below_the_measured_one(seconds):
    assert 0 <= seconds * 10 - cut_to_tenths(seconds) < 1


@pytest.mark.parametrize(
    ("seconds", "sentence"),
    [
        ("-1", "A hold cannot last -1 s: the length is negative."),
        (-1, "A hold cannot last -1 s: the length is negative."),
        (Decimal("-0.1"), "A hold cannot last -0.1 s: the length is negative."),
        (3601, "A hold of 3601 s is longer than an hour: check the length."),
        ("3600.01", "A hold of 3600.01 s is longer than an hour: check the length."),
        ("9" * 40, f"A hold of {'9' * 40} s is longer than an hour: check the length."),
        ("five", "'five' is not a length in seconds: write a number such as 12.5."),
        ("", "'' is not a length in seconds: write a number such as 12.5."),
        ("1_0", "'1_0' is not a length in seconds: write a number such as 12.5."),
        ("1e2", "'1e2' is not a length in seconds: write a number such as 12.5."),
        ("٣", "'٣' is not a length in seconds: write a number such as 12.5."),
        (Decimal("NaN"), "Decimal('NaN') is not a length in seconds: write a number such as 12.5."),
        (Decimal("Infinity"), "Decimal('Infinity') is not a length in seconds: write a number such as 12.5."),
        (5.5, "5.5 is not a length in seconds: write a number such as 12.5."),
        (True, "True is not a length in seconds: write a number such as 12.5."),
    ],
)
def test_what_is_no_length_is_refused_with_a_sentence(seconds, sentence):
    with pytest.raises(HoldLengthError) as refused:
        cut_to_tenths(seconds)
    assert str(refused.value) == sentence


def test_floor_of_a_hold_is_the_two_seconds_of_static_elements():
    # Source: Code of Points 2025-2028, men's artistic gymnastics: static elements are held for 2 s.
    assert HOLD_FLOOR_TENTHS == 20
    assert [is_hold(tenths) for tenths in (None, 0, 19, 20, 21)] == [False, False, False, True, True]


def test_rule_that_asks_for_less_than_the_floor_still_needs_the_floor():
    assert [needed_tenths(asked) for asked in (1, 19, 20, 50)] == [20, 20, 20, 50]
