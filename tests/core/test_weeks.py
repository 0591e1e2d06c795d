"""Weeks of a gym begin on Monday in its zone; the clock changes are those of the IANA time zone database."""

from datetime import UTC, date, datetime

import pytest

from skills.core.days import moment_us
from skills.core.weeks import monday_of, week_on, week_starts_us


def us(when: str) -> int:
    return moment_us(datetime.fromisoformat(when).replace(tzinfo=UTC))


@pytest.mark.parametrize(
    ("day", "monday"),
    [
        (date(2026, 11, 30), date(2026, 11, 30)),
        (date(2026, 12, 6), date(2026, 11, 30)),
        (date(2027, 1, 3), date(2026, 12, 28)),
    ],
)
def test_a_week_begins_on_its_monday(day, monday):
    assert monday_of(day) == monday


@pytest.mark.parametrize(
    ("zone", "moment", "monday"),
    [
        ("Europe/Berlin", us("2026-11-29 22:59:59"), date(2026, 11, 23)),
        ("Europe/Berlin", us("2026-11-29 23:00:00"), date(2026, 11, 30)),
        ("America/New_York", us("2026-11-30 04:59:59"), date(2026, 11, 23)),
        ("America/New_York", us("2026-11-30 05:00:00"), date(2026, 11, 30)),
        # Sundays on which Berlin's clocks go on and back
        ("Europe/Berlin", us("2026-03-29 21:59:59"), date(2026, 3, 23)),
        ("Europe/Berlin", us("2026-03-29 22:00:00"), date(2026, 3, 30)),
        ("Europe/Berlin", us("2026-10-25 22:59:59"), date(2026, 10, 19)),
        ("Europe/Berlin", us("2026-10-25 23:00:00"), date(2026, 10, 26)),
    ],
)
def test_the_week_turns_at_midnight_in_the_gyms_zone(zone, moment, monday):
    assert week_on(moment, zone) == monday


def test_a_week_with_a_clock_change_is_an_hour_longer_or_shorter():
    def hours(first: date, then: date) -> float:
        return (week_starts_us(then, "Europe/Berlin") - week_starts_us(first, "Europe/Berlin")) / 3_600_000_000

    assert hours(date(2026, 3, 23), date(2026, 3, 30)) == 167
    assert hours(date(2026, 10, 19), date(2026, 10, 26)) == 169
    assert hours(date(2026, 11, 23), date(2026, 11, 30)) == 168
