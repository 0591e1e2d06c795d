"""Ranges of bodies: slips of the pen and wrong units are caught, and no body of the surveys."""

from datetime import date

import pytest

from athletes.core.bodies import Problem, body_problems, is_old, part_range
from athletes.core.roster import STATURE_M


def problems(**given: int) -> list[Problem]:
    return body_problems(**{"stature_mm": None, "chest_mm": None, "armpit_mm": None, "reach_mm": None, **given})


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({}, []),
        ({"stature_mm": 800}, []),
        ({"stature_mm": 2500}, []),
        ({"stature_mm": 799}, [Problem("stature", 800, 2500)]),
        ({"stature_mm": 2501, "chest_mm": 5}, [Problem("stature", 800, 2500)]),
        ({"stature_mm": 1750, "chest_mm": 1050, "armpit_mm": 1137, "reach_mm": 1837}, []),
        ({"stature_mm": 1750, "chest_mm": 1049}, [Problem("chest", 1050, 1487)]),
        ({"stature_mm": 1750, "armpit_mm": 1541}, [Problem("armpit", 1137, 1540)]),
        ({"stature_mm": 1750, "reach_mm": 2451}, [Problem("reach", 1837, 2450)]),
        ({"chest_mm": 479, "reach_mm": 3501}, [Problem("chest", 480, 2125), Problem("reach", 840, 3500)]),
        ({"stature_mm": 1750, "chest_mm": 1300, "armpit_mm": 1299}, [Problem("armpit", 1300, 1540)]),
        ({"stature_mm": 1750, "chest_mm": 1300, "armpit_mm": 1300}, []),
    ],
)
def test_a_measure_is_held_against_its_range(given: dict[str, int], expected: list[Problem]) -> None:
    assert problems(**given) == expected


def test_the_stature_has_the_range_of_the_roster() -> None:
    assert tuple(int(limit * 1000) for limit in STATURE_M) == (800, 2500)


# ANSUR II 2012 (Gordon and others 2014): mean and standard deviation of the share of the stature.
@pytest.mark.parametrize(
    ("part", "mean", "sd"),
    [("chest", 0.735, 0.010), ("chest", 0.719, 0.014), ("reach", 1.215, 0.026), ("reach", 1.203, 0.025)],
)
def test_five_standard_deviations_of_the_survey_are_taken_for_a_body(part: str, mean: float, sd: float) -> None:
    least, most = part_range(part, 1700)
    assert least < (mean - 5 * sd) * 1700
    assert (mean + 5 * sd) * 1700 < most


@pytest.mark.parametrize(
    ("measured_on", "minor", "expected"),
    [
        (date(2026, 2, 28), True, True),
        (date(2026, 3, 1), True, True),
        (date(2026, 3, 2), True, False),
        (date(2020, 1, 1), False, False),
    ],
)
def test_who_grows_is_measured_again_after_three_months(measured_on: date, *, minor: bool, expected: bool) -> None:
    assert is_old(measured_on=measured_on, today=date(2026, 6, 1), minor=minor) is expected
