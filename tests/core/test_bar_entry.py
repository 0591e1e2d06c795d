"""What cannot be said of a bar."""

from dataclasses import replace

import pytest

from skills.core.bar_entry import BarEntry, bar_problems, ends_mm, is_unusual

FIXED = BarEntry("high bar 1", "pull_up", 320, height_mm=2550)
TIED = BarEntry("low bar", "tied", 280, first_hole_mm=400, hole_pitch_tenths_mm=508, holes=30)


@pytest.mark.parametrize("entry", [FIXED, TIED, replace(FIXED, ceiling_mm=2551, mat_mm=1000)])
def test_a_bar_that_can_be_is_taken(entry: BarEntry) -> None:
    assert bar_problems(entry) == []


@pytest.mark.parametrize(
    ("entry", "fields"),
    [
        (replace(FIXED, name=""), ["name"]),
        (replace(FIXED, name="x" * 61), ["name"]),
        (replace(FIXED, height_mm=None), ["height_mm"]),
        (replace(FIXED, holes=3), ["height_mm"]),
        (replace(TIED, holes=None), ["holes"]),
        (replace(TIED, first_hole_mm=None, hole_pitch_tenths_mm=None), ["first_hole_mm", "hole_pitch_tenths_mm"]),
        (replace(TIED, holes=0), ["holes"]),
        (replace(TIED, holes=121), ["holes"]),
        (replace(TIED, hole_pitch_tenths_mm=3000, holes=30), ["holes"]),  # it would end at 9.10 m
        (replace(FIXED, diameter_tenths_mm=159), ["diameter_tenths_mm"]),
        (replace(FIXED, diameter_tenths_mm=601), ["diameter_tenths_mm"]),
        (replace(FIXED, height_mm=199, mat_mm=1001), ["height_mm", "mat_mm"]),
        (replace(FIXED, ceiling_mm=2550), ["ceiling_mm"]),
        (replace(TIED, ceiling_mm=1873), ["ceiling_mm"]),  # the highest hole is at 400 + 29 × 50.8 = 1873.2
        (replace(TIED, mat_mm=400), ["mat_mm"]),
        (replace(FIXED, clear_front_mm=-1, clear_behind_mm=30_001), ["clear_front_mm", "clear_behind_mm"]),
    ],
)
def test_every_mistake_is_named_by_its_field(entry: BarEntry, fields: list[str]) -> None:
    assert [problem.field for problem in bar_problems(entry)] == fields


def test_ends_are_the_lowest_and_the_highest_hole() -> None:
    assert ends_mm(TIED) == (400, 1873)
    assert ends_mm(FIXED) == (2550, 2550)


@pytest.mark.parametrize(
    ("tenths", "unusual"),
    [
        (280, False),  # a horizontal bar, 28 mm
        (400, False),  # a rail of asymmetric bars, 40 mm
        (250, False),  # the thinnest barbell
        (450, False),  # the thickest grip of EN 1176-1, 45 mm
        (249, True),
        (451, True),
        (508, True),  # a 2 in pipe
    ],
)
def test_thickness_outside_of_the_usual_is_to_be_confirmed(tenths: int, *, unusual: bool) -> None:
    assert is_unusual(tenths) is unusual
