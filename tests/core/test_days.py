"""Days against the IANA time zone database, by its published instants of change."""

from datetime import UTC, date, datetime, timedelta

import pytest

from athletes.core.zones import UnknownZoneError, zone_named
from skills.core.days import day_starts_us, local_date, moment_of, moment_us

HOUR_US = 3_600_000_000


def utc_us(text: str) -> int:
    return moment_us(datetime.fromisoformat(text).replace(tzinfo=UTC))


# Source: IANA time zone database, rules EU and US for 2026 (`zdump -v -c 2026,2027 Europe/Berlin`).
CHANGES = [
    ("Europe/Berlin", "2026-03-29T01:00", 1, 2),
    ("Europe/Berlin", "2026-10-25T01:00", 2, 1),
    ("America/New_York", "2026-03-08T07:00", -5, -4),
    ("America/New_York", "2026-11-01T06:00", -4, -5),
]


@pytest.mark.parametrize(("zone", "instant", "hours_before", "hours_after"), CHANGES)
def test_clock_changes_at_the_published_instant(zone, instant, hours_before, hours_after):
    us = utc_us(instant)
    offsets = [moment_of(at).astimezone(zone_named(zone)).utcoffset() for at in (us - 1, us)]
    assert offsets == [timedelta(hours=hours_before), timedelta(hours=hours_after)]


@pytest.mark.parametrize(
    ("zone", "day", "starts", "hours"),
    [
        ("Europe/Berlin", date(2026, 3, 28), "2026-03-27T23:00", 24),
        ("Europe/Berlin", date(2026, 3, 29), "2026-03-28T23:00", 23),
        ("Europe/Berlin", date(2026, 3, 30), "2026-03-29T22:00", 24),
        ("Europe/Berlin", date(2026, 10, 25), "2026-10-24T22:00", 25),
        ("America/New_York", date(2026, 3, 8), "2026-03-08T05:00", 23),
        ("America/New_York", date(2026, 11, 1), "2026-11-01T04:00", 25),
        ("UTC", date(2026, 3, 29), "2026-03-29T00:00", 24),
        # Midnight itself is swallowed: the clock goes from 24:00 to 01:00, and the day starts there.
        ("America/Havana", date(2026, 3, 8), "2026-03-08T05:00", 23),
        ("Africa/Cairo", date(2026, 4, 24), "2026-04-23T22:00", 23),
        ("Asia/Beirut", date(2026, 3, 29), "2026-03-28T22:00", 23),
        # Midnight comes twice, and the day starts with the first one.
        ("America/Havana", date(2025, 11, 2), "2025-11-02T04:00", 25),
    ],
)
def test_day_starts_at_its_first_moment_and_lasts_until_the_next_one_starts(zone, day, starts, hours):
    start = day_starts_us(day, zone)
    assert start == utc_us(starts)
    assert day_starts_us(day + timedelta(days=1), zone) - start == hours * HOUR_US
    assert local_date(start, zone) == day
    assert local_date(start - 1, zone) == day - timedelta(days=1)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/Havana", "Asia/Beirut", "Pacific/Apia", "Asia/Kathmandu"])
def test_first_moment_of_every_day_of_forty_years_is_on_that_day_and_the_one_before_is_not(zone):
    for number in range(0, 40 * 366, 3):
        day = date(1990, 1, 1) + timedelta(days=number)
        start = day_starts_us(day, zone)
        # Apia had no 30 December 2011: what would have been its first moment is on the 31st.
        assert local_date(start, zone) == (
            day if (zone, day) != ("Pacific/Apia", date(2011, 12, 30)) else date(2011, 12, 31)
        )
        assert local_date(start - 1, zone) < day


@pytest.mark.parametrize(
    "name", ["", "Mars/Base", "Europe", "../Europe/Berlin", "leapseconds", "zone.tab", "/etc/passwd"]
)
def test_name_that_is_no_zone_is_refused_with_a_sentence(name):
    with pytest.raises(UnknownZoneError, match="is not a time zone of the IANA database") as refused:
        zone_named(name)
    assert repr(name) in str(refused.value)


def test_zone_is_read_once_and_knows_its_name():
    assert zone_named("Europe/Berlin") is zone_named("Europe/Berlin")
    assert zone_named("Europe/Berlin").key == "Europe/Berlin"


def test_moments_are_exact_microseconds_both_ways():
    moment = datetime(2026, 3, 2, 18, 0, 0, 1, tzinfo=UTC)
    assert moment_us(moment) == 1_772_474_400_000_001
    assert moment_of(1_772_474_400_000_001) == moment
