"""Whose word counts as consent."""

from datetime import UTC, datetime

import pytest

from athletes.core.consents import ConsentLine, SaidBy, lacking


def _said(kind: str, by: SaidBy, *, given: bool = True) -> ConsentLine:
    return ConsentLine(kind, kind, given, by, datetime(2026, 3, 2, tzinfo=UTC), "Cleo Adeyemi")


@pytest.mark.parametrize(
    ("by", "minor", "counts"),
    [("guardian", True, True), ("athlete", False, True), ("athlete", True, False), ("guardian", False, False)],
)
def test_a_guardian_speaks_for_a_minor_and_an_adult_for_themselves(*, by: SaidBy, minor: bool, counts: bool) -> None:
    assert _said("inversion", by).counts_for(minor=minor) is counts
    assert not _said("inversion", by, given=False).counts_for(minor=minor)


def test_what_was_never_said_or_was_withdrawn_is_lacking_in_words() -> None:
    said = {"inversion": _said("inversion", "athlete", given=False)}
    assert lacking(("spotting", "inversion"), said, minor=False) == [
        ("spotting", "no consent to hands-on spotting"),
        ("inversion", "no consent to going upside down (withdrawn)"),
    ]
    agreed = {"spotting": _said("spotting", "athlete")}
    assert lacking(("spotting", "inversion"), agreed, minor=False) == [
        ("inversion", "no consent to going upside down"),
    ]
    assert lacking((), {}, minor=True) == []
