"""Dates and times as typed, on the gym's clock; the changes of the clocks are from the IANA time zone database."""

from datetime import UTC, datetime

import pytest

from skills.core.days import moment_us
from skills.core.moments import Asked, MomentError, moment_asked, written_moment

NOW = moment_us(datetime(2026, 11, 25, 12, tzinfo=UTC))
BERLIN = "Europe/Berlin"


def utc(*parts: int) -> int:
    return moment_us(datetime(*parts, tzinfo=UTC))  # type: ignore[arg-type,misc]


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("2026-11-03T18:30", Asked(utc(2026, 11, 3, 17, 30))),
        (" 2026-11-03 18:30:05 ", Asked(utc(2026, 11, 3, 17, 30, 5))),
        ("2026-11-03T18:30:05.000001", Asked(utc(2026, 11, 3, 17, 30, 5, 1))),
        ("2026-10-25T01:59", Asked(utc(2026, 10, 24, 23, 59))),
        ("2026-10-25T02:30", Asked(utc(2026, 10, 25, 1, 30), "later")),
        ("2026-10-25T03:00", Asked(utc(2026, 10, 25, 2, 0))),
        ("2026-03-29T02:30", Asked(utc(2026, 3, 29, 1, 30), "skipped")),
        ("2026-03-29T03:00", Asked(utc(2026, 3, 29, 1, 0))),
    ],
)
def test_a_moment_is_read_on_the_clock_of_the_gym(text: str, asked: Asked) -> None:
    assert moment_asked(text, BERLIN, NOW) == asked


def test_of_an_hour_that_came_twice_the_earlier_one_can_be_asked_for() -> None:
    assert moment_asked("2026-10-25T02:30", BERLIN, NOW, earlier=True) == Asked(utc(2026, 10, 25, 0, 30), "earlier")


def test_now_can_be_asked_about_and_a_microsecond_later_cannot() -> None:
    assert moment_asked("2026-11-25T13:00", BERLIN, NOW).us == NOW
    with pytest.raises(MomentError, match="lies ahead"):
        moment_asked("2026-11-25T13:00:00.000001", BERLIN, NOW)


@pytest.mark.parametrize(
    "text",
    ["", "yesterday", "2026-11-03", "2026-13-01T10:00", "2026-02-30T10:00", "2026-11-03T25:00", "2026-11-03T1٨:00"],
)
def test_what_is_no_date_and_time_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(MomentError, match="write it like 2026-11-03T18:30"):
        moment_asked(text, BERLIN, NOW)


@pytest.mark.parametrize(("text", "why"), [("0001-01-01T00:00", "too long ago"), ("9999-12-31T23:59", "lies ahead")])
def test_the_ends_of_the_calendar_are_refused_in_words(text: str, why: str) -> None:
    for zone in (BERLIN, "Pacific/Kiritimati", "Pacific/Pago_Pago"):
        with pytest.raises(MomentError, match=why):
            moment_asked(text, zone, NOW)


def test_a_written_moment_is_read_again() -> None:
    us = utc(2026, 7, 1, 5, 6, 7)
    assert moment_asked(written_moment(us, BERLIN), BERLIN, NOW).us == us
