"""Months: names, bounds against the IANA time zone database, figures added up by hand."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from importlib.resources import files
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.days import local_date, moment_us
from skills.core.month import (
    COLUMNS,
    Counts,
    Figures,
    Line,
    Month,
    NoSuchMonthError,
    Report,
    Sessions,
    Share,
    month_named,
    percent,
    table,
    tally,
)
from tests.core.zones import pinned_zone

OCTOBER = Month(2026, 10)
MICROSECOND = timedelta(microseconds=1)
ZONES = files("tzdata").joinpath("zones").read_text("utf-8").split()
BAR, RINGS = UUID(int=1), UUID(int=2)
CLEO, TIMO = UUID(int=11), UUID(int=12)
ADA, BEN = UUID(int=21), UUID(int=22)


@pytest.mark.parametrize(
    ("name", "month"), [("2026-10", OCTOBER), ("2026-01", Month(2026, 1)), ("1900-12", Month(1900, 12))]
)
def test_month_has_a_name(name, month):
    assert month_named(name, this=OCTOBER) == month
    assert str(month) == name


@pytest.mark.parametrize(
    "name",
    [
        "2026-13",
        "2026-00",
        "2026-1",
        "26-10",
        "october",
        "",
        "2026",
        "2026-10-01",
        "2026-10\n",
        "２０２６-10",
        "1899-12",
        "0000-01",
    ],
)
def test_name_that_is_no_month_is_refused_with_an_example(name):
    with pytest.raises(NoSuchMonthError) as refused:
        month_named(name, this=OCTOBER)
    assert str(refused.value) == f"“{name}” is no month: write it like 2026-10."


def test_long_name_is_cut_in_the_sentence():
    with pytest.raises(NoSuchMonthError) as refused:
        month_named("x" * 5000, this=OCTOBER)
    assert str(refused.value) == f"“{'x' * 20}…” is no month: write it like 2026-10."


@pytest.mark.parametrize("name", ["2026-11", "2027-01", "9999-12"])
def test_month_that_has_not_begun_is_refused(name):
    with pytest.raises(NoSuchMonthError, match=f"^{name} has not begun yet: this month is 2026-10.$"):
        month_named(name, this=OCTOBER)


@pytest.mark.parametrize(
    ("month", "before", "after"),
    [
        (OCTOBER, Month(2026, 9), Month(2026, 11)),
        (Month(2026, 1), Month(2025, 12), Month(2026, 2)),
        (Month(2026, 12), Month(2026, 11), Month(2027, 1)),
    ],
)
def test_months_before_and_after(month, before, after):
    assert (month.before, month.after) == (before, after)


# Source: IANA time zone database, rules EU and US for 2026 (`zdump -v -c 2026,2027 Europe/Berlin`): a month has 24
# hours a day, one less where the clocks go forward, one more where they go back.
@pytest.mark.parametrize(
    ("zone", "month", "starts", "hours"),
    [
        ("Europe/Berlin", Month(2026, 3), "2026-02-28T23:00", 743),
        ("Europe/Berlin", Month(2026, 10), "2026-09-30T22:00", 745),
        ("Europe/Berlin", Month(2026, 8), "2026-07-31T22:00", 744),
        ("Europe/Berlin", Month(2026, 2), "2026-01-31T23:00", 672),
        ("Europe/Berlin", Month(2024, 2), "2024-01-31T23:00", 696),
        ("America/New_York", Month(2026, 3), "2026-03-01T05:00", 743),
        ("America/New_York", Month(2026, 11), "2026-11-01T04:00", 721),
        ("America/New_York", Month(2026, 10), "2026-10-01T04:00", 744),
        # Half an hour, on 5 April.
        ("Australia/Lord_Howe", Month(2026, 4), "2026-03-31T13:00", 720.5),
        # Midnight of 1 October 2017 was swallowed: the clock went from 24:00 to 01:00.
        ("America/Asuncion", Month(2017, 10), "2017-10-01T04:00", 743),
        ("UTC", Month(2026, 3), "2026-03-01T00:00", 744),
    ],
)
def test_month_begins_at_its_first_moment_and_has_its_hours(zone, month, starts, hours):
    bounds = month.bounds(zone)
    assert bounds.starts_at == datetime.fromisoformat(starts).replace(tzinfo=UTC)
    assert (bounds.ends_at - bounds.starts_at) / timedelta(hours=1) == hours


@given(st.sampled_from(ZONES), st.builds(Month, st.integers(1970, 2037), st.integers(1, 12)))
def test_bounds_hold_the_month_and_nothing_else_in_every_zone(zone, month):
    bounds = month.bounds(zone)
    inside = [bounds.starts_at, bounds.ends_at - MICROSECOND]
    outside = [bounds.starts_at - MICROSECOND, bounds.ends_at]
    assert [Month.at(moment, zone) for moment in inside] == [month, month]
    assert [Month.at(moment, zone) for moment in outside] == [month.before, month.after]
    assert month.after.bounds(zone).starts_at == bounds.ends_at


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Asia/Kathmandu"])
def test_last_microsecond_belongs_to_the_month_and_midnight_to_the_next(zone):
    midnight = datetime(2026, 11, 1, tzinfo=pinned_zone(zone))
    last = datetime(2026, 10, 31, 23, 59, 59, 999_999, tzinfo=pinned_zone(zone))
    assert (Month.at(last, zone), Month.at(midnight, zone)) == (OCTOBER, Month(2026, 11))
    assert OCTOBER.bounds(zone).ends_at == midnight == last + MICROSECOND


def test_days_end_where_the_next_ones_begin():
    ends = OCTOBER.day_ends("Europe/Berlin")
    assert [day for day, _ in ends] == [date(2026, 10, number) for number in range(1, 32)]
    assert ends[-1][1] == OCTOBER.bounds("Europe/Berlin").ends_at
    for day, end in ends:
        assert local_date(moment_us(end) - 1, "Europe/Berlin") == day


SHARES = [
    Share(BAR, CLEO, Counts(attempts=3, clean_attempts=2, hold_tenths=150), ADA),
    Share(BAR, TIMO, Counts(attempts=1, hold_tenths=49), ADA),
    Share(RINGS, TIMO, Counts(attempts=2, clean_attempts=2), BEN),
    Share(BAR, CLEO, Counts(signed_off=2, not_yet=1)),
    Share(RINGS, CLEO, Counts(revoked=1)),
    Share(RINGS, None, Counts(steps_opened=4)),
]
SESSIONS = Sessions(coaches={CLEO: 2, TIMO: 3}, skills={BAR: 4, RINGS: 1})


def test_tally_adds_up_the_gym_and_counts_everybody_once():
    expected = Counts(6, 4, 199, steps_opened=4, signed_off=2, not_yet=1, revoked=1)
    assert tally(SHARES, SESSIONS).gym == Figures(2, 5, expected)


def test_tally_adds_up_each_skill():
    assert tally(SHARES, SESSIONS).skills == {
        BAR: Figures(1, 4, Counts(4, 2, 199, signed_off=2, not_yet=1)),
        RINGS: Figures(1, 1, Counts(2, 2, steps_opened=4, revoked=1)),
    }


def test_tally_adds_up_each_coach_and_what_no_coach_did():
    assert tally(SHARES, SESSIONS).coaches == {
        CLEO: Figures(1, 2, Counts(3, 2, 150, signed_off=2, not_yet=1, revoked=1)),
        TIMO: Figures(2, 3, Counts(3, 2, 49)),
        None: Figures(0, 0, Counts(steps_opened=4)),
    }


def test_session_without_an_attempt_still_has_its_coach():
    found = tally([], Sessions(coaches={TIMO: 1}, skills={}))
    assert (found.gym, found.coaches, found.skills) == (Figures(0, 1, Counts()), {TIMO: Figures(0, 1, Counts())}, {})


def test_clean_rate_is_exact_and_there_is_none_without_attempts():
    assert Figures(1, 1, Counts(attempts=3, clean_attempts=1)).clean_rate == Fraction(1, 3)
    assert Figures(1, 1, Counts(signed_off=1)).clean_rate is None


@pytest.mark.parametrize(
    ("rate", "text"),
    [
        (Fraction(0), "0.0"),
        (Fraction(1, 3), "33.3"),
        (Fraction(2, 3), "66.7"),
        (Fraction(1, 16), "6.3"),
        (Fraction(1, 2000), "0.1"),
        (Fraction(1, 2001), "0.0"),
        (Fraction(1), "100.0"),
    ],
)
def test_per_cent_has_one_decimal_with_half_rounded_up(rate, text):
    assert str(percent(rate)) == text


def test_table_has_the_gym_then_skills_then_coaches_under_its_columns():
    figures = Figures(2, 5, Counts(6, 4, 199, 4, 3, 2, 1))
    none = Figures(0, 0, Counts())
    rows = [
        dict(zip(COLUMNS, row, strict=True))
        for row in table(
            Report(
                OCTOBER, Line("Harbour Hall", figures), (Line("Bar pullover", none),), (Line("Cleo Adeyemi", figures),)
            )
        )
    ]
    assert [(row["month"], row["scope"], row["name"]) for row in rows] == [
        ("2026-10", "gym", "Harbour Hall"),
        ("2026-10", "skill", "Bar pullover"),
        ("2026-10", "coach", "Cleo Adeyemi"),
    ]
    numbers = {
        "active_athletes": 2,
        "sessions": 5,
        "attempts": 6,
        "hold_seconds": Decimal("19.9"),
        "clean_attempts": 4,
        "clean_rate_percent": Decimal("66.7"),
        "steps_opened": 4,
        "signed_off": 3,
        "not_yet": 2,
        "revoked": 1,
    }
    assert numbers.items() <= rows[0].items()
    assert (rows[1]["attempts"], str(rows[1]["hold_seconds"]), rows[1]["clean_rate_percent"]) == (0, "0.0", "")
