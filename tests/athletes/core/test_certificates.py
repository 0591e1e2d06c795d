"""Certificates on a day: good through the last one, lapsed from the day after."""

from datetime import date

import pytest

from athletes.core.certificates import CertificateLine, Entered, ends_soon, entry_on, line_of

NEW_YEAR, JUNE, LAST = date(2026, 1, 1), date(2026, 6, 1), date(2026, 6, 30)


def _line(day: date, *, valid_from: date = NEW_YEAR, valid_until: date | None = LAST) -> CertificateLine:
    return line_of(Entered("first_aid", valid_from, valid_until), "first aid", day)


@pytest.mark.parametrize(
    ("day", "good", "lapsed"),
    [
        (date(2025, 12, 31), False, False),
        (NEW_YEAR, True, False),
        (LAST, True, False),
        (date(2026, 7, 1), False, True),
    ],
)
def test_a_certificate_is_good_from_its_first_day_through_its_last(*, day: date, good: bool, lapsed: bool) -> None:
    line = _line(day)
    assert (line.good, line.lapsed) == (good, lapsed)


def test_without_a_last_day_it_never_lapses() -> None:
    line = _line(date(2099, 1, 1), valid_until=None)
    assert (line.good, line.lapsed, ends_soon(line, date(2099, 1, 1))) == (True, False, False)


@pytest.mark.parametrize(
    ("day", "soon"),
    [(date(2026, 5, 30), False), (date(2026, 5, 31), True), (LAST, True), (date(2026, 7, 1), False)],
)
def test_it_ends_soon_for_thirty_days_and_no_longer(*, day: date, soon: bool) -> None:
    assert ends_soon(_line(day), day) is soon


def test_a_newer_entry_corrects_the_one_before() -> None:
    wrong, right = Entered("coaching", NEW_YEAR, LAST), Entered("coaching", NEW_YEAR, None)
    assert entry_on([wrong, right], JUNE) == right
    assert entry_on([right, wrong], JUNE) == wrong


def test_a_renewal_entered_ahead_leaves_the_one_before_in_force_until_it_begins() -> None:
    old, renewed = Entered("coaching", NEW_YEAR, LAST), Entered("coaching", date(2026, 7, 1), None)
    assert entry_on([old, renewed], LAST) == old
    assert entry_on([old, renewed], date(2026, 7, 1)) == renewed


def test_before_the_first_begins_the_last_entry_stands_and_is_not_good_yet() -> None:
    coming = Entered("coaching", date(2026, 7, 1), None)
    assert entry_on([coming], JUNE) == coming
    assert entry_on([], JUNE) is None
