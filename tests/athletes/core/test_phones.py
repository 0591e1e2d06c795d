"""Telephone numbers, loosely (ITU-T E.164, section 6: at most 15 digits)."""

import pytest

from athletes.core.phones import phone_address, tidy_phone


@pytest.mark.parametrize(
    ("typed", "shown", "address"),
    [
        ("+49 30 1234567", "+49 30 1234567", "tel:+49301234567"),
        ("  (030)  123-45.67 ", "(030) 123-45.67", "tel:0301234567"),
        ("112", "112", "tel:112"),
        ("123456789012345", "123456789012345", "tel:123456789012345"),
    ],
)
def test_a_number_is_kept_as_it_is_read_and_dialled_in_digits(typed: str, shown: str, address: str) -> None:
    assert tidy_phone(typed) == shown
    assert phone_address(shown) == address


@pytest.mark.parametrize(
    "typed", ["", "12", "1234567890123456", "call mum", "030 x 12", "+", "()", "٠٣٠١٢٣٤", "12+345", "javascript:1234"]
)
def test_what_cannot_be_dialled_is_none(typed: str) -> None:
    assert tidy_phone(typed) == ""
