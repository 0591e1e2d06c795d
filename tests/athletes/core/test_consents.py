"""Whose word counts as consent."""

from datetime import UTC, date, datetime

import pytest

from athletes.core.consents import (
    ADULT,
    MINOR,
    ConsentLine,
    SaidBy,
    Standing,
    agreed,
    extent_of,
    lacking,
    shown_name,
    standing_on,
    who_decides,
)

OWN_DATA = Standing(of_age=False, own_data=True)


def _said(kind: str, by: SaidBy, *, given: bool = True, extent: str = "") -> ConsentLine:
    return ConsentLine(kind, kind, given, by, datetime(2026, 3, 2, tzinfo=UTC), "Cleo Adeyemi", extent)


def _standing(birth_on: date | None, day: date) -> Standing:
    return standing_on(birth_on, day, adult_age_years=18, own_data_age_years=16)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 5, 30), MINOR),  # the day before the sixteenth birthday
        (date(2026, 5, 31), OWN_DATA),
        (date(2028, 5, 30), OWN_DATA),
        (date(2028, 5, 31), ADULT),
    ],
)
def test_a_birthday_decides_who_decides(day: date, expected: Standing) -> None:
    assert _standing(date(2010, 5, 31), day) == expected


def test_an_unknown_birth_date_is_a_minors_below_both_ages() -> None:
    assert _standing(None, date(2026, 5, 31)) == MINOR


def test_whoever_is_of_age_decides_about_their_data_too() -> None:
    late = standing_on(date(2010, 1, 1), date(2026, 5, 1), adult_age_years=16, own_data_age_years=18)
    assert late == ADULT


@pytest.mark.parametrize(
    ("kind", "at_15", "at_16", "at_18"),
    [
        ("spotting", "guardian", "guardian", "athlete"),
        ("inversion", "guardian", "guardian", "athlete"),
        ("board", "guardian", "athlete", "athlete"),
        ("reports", "guardian", "athlete", "athlete"),
        ("link", "guardian", "athlete", "athlete"),
        ("login", "guardian", "athlete", "athlete"),
    ],
)
def test_a_guardian_decides_longer_about_the_body_than_about_data(
    kind: str, at_15: str, at_16: str, at_18: str
) -> None:
    assert [who_decides(kind, each) for each in (MINOR, OWN_DATA, ADULT)] == [at_15, at_16, at_18]


@pytest.mark.parametrize(
    ("kind", "standing", "expected"),
    [
        ("link", MINOR, False),
        ("link", OWN_DATA, False),
        ("link", ADULT, True),
        ("login", MINOR, False),
        ("login", OWN_DATA, True),  # taken by their own act, under a code
        ("login", ADULT, True),
        ("reports", MINOR, False),
        ("reports", ADULT, True),
        ("inversion", ADULT, False),
        ("spotting", MINOR, False),
    ],
)
def test_without_a_word_only_an_adults_data_is_agreed_to(*, kind: str, standing: Standing, expected: bool) -> None:
    assert agreed(kind, {}, standing) is expected


def test_a_no_holds_for_everybody_and_a_guardians_yes_about_data_goes_on() -> None:
    for standing in (MINOR, OWN_DATA, ADULT):
        assert agreed("link", {"link": _said("link", "guardian")}, standing)
        assert not agreed("link", {"link": _said("link", "guardian", given=False)}, standing)
    by_themselves = {"link": _said("link", "athlete")}
    assert [agreed("link", by_themselves, each) for each in (MINOR, OWN_DATA, ADULT)] == [False, True, True]
    body = {"inversion": _said("inversion", "guardian")}
    assert [agreed("inversion", body, each) for each in (MINOR, OWN_DATA, ADULT)] == [True, True, False]


@pytest.mark.parametrize(
    ("line", "minor", "adult"),
    [
        (None, "initials", "full_name"),
        (_said("board", "guardian", extent="full_name"), "full_name", "full_name"),
        (_said("board", "guardian"), "full_name", "full_name"),
        (_said("board", "guardian", extent="initials"), "initials", "initials"),
        (_said("board", "guardian", extent="number"), "number", "number"),
        (_said("board", "guardian", given=False), "initials", "initials"),
        (_said("board", "athlete", extent="full_name"), "initials", "full_name"),  # a child's own yes opens nothing
        (_said("board", "athlete", extent="number"), "number", "number"),
        (_said("board", "athlete", given=False), "initials", "initials"),
    ],
)
def test_how_somebody_is_shown(line: ConsentLine | None, minor: str, adult: str) -> None:
    said = {"board": line} if line else {}
    assert (extent_of(said, MINOR), extent_of(said, ADULT)) == (minor, adult)


def test_a_name_is_shown_as_far_as_was_agreed() -> None:
    shown = [shown_name("Ada Marsh", extent) for extent in ("full_name", "initials", "number")]
    assert shown == ["Ada Marsh", "A. M.", ""]


@pytest.mark.parametrize(
    ("by", "minor", "counts"),
    [("guardian", True, True), ("athlete", False, True), ("athlete", True, False), ("guardian", False, False)],
)
def test_a_guardian_speaks_for_a_minor_and_an_adult_for_themselves(*, by: SaidBy, minor: bool, counts: bool) -> None:
    standing = MINOR if minor else ADULT
    assert _said("inversion", by).counts_for(standing) is counts
    assert not _said("inversion", by, given=False).counts_for(standing)


def test_what_was_never_said_or_was_withdrawn_is_lacking_in_words() -> None:
    said = {"inversion": _said("inversion", "athlete", given=False)}
    assert lacking(("spotting", "inversion"), said, ADULT) == [
        ("spotting", "no consent to hands-on spotting"),
        ("inversion", "no consent to going upside down (withdrawn)"),
    ]
    spotted = {"spotting": _said("spotting", "athlete")}
    assert lacking(("spotting", "inversion"), spotted, ADULT) == [
        ("inversion", "no consent to going upside down"),
    ]
    assert lacking((), {}, MINOR) == []
