"""Setting a bar. Facts of the trade stand as "common practice, no source"."""

from collections.abc import Sequence

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from skills.core.body_heights import Body, Height, armpit_of, chest_of, leg_of, reach_of, toes_mm
from skills.core.set_up import (
    TIGHT_MM,
    TOO_LOW_MM,
    BarPlace,
    Holes,
    LowFit,
    Room,
    Setting,
    Sharer,
    box_needed,
    ceiling_room,
    free_setting,
    group_fit,
    group_setting,
    hang_room,
    legs_room,
    low_fit,
    low_setting,
    room,
)

TIED = BarPlace(Holes(300, 500, 30), diameter_tenths_mm=280)
HIGH = BarPlace(2550, diameter_tenths_mm=320, ceiling_mm=3400, front_mm=1500, behind_mm=1050, mat_mm=20)

racks = st.builds(Holes, st.integers(100, 1500), st.integers(100, 1000), st.integers(1, 40))
bars = st.builds(BarPlace, racks, st.integers(160, 600), mat_mm=st.integers(0, 300))


@st.composite
def bodies(draw: st.DrawFn) -> Body:
    stature_mm = draw(st.integers(800, 2500))
    chest_mm = draw(st.none() | st.integers(stature_mm * 66 // 100, stature_mm * 76 // 100))
    armpit_mm = draw(st.none() | st.integers(stature_mm * 76 // 100, stature_mm * 80 // 100))
    return Body(stature_mm, chest_mm, armpit_mm)


def heights(body: Body) -> tuple[Height, Height]:
    chest, armpit = chest_of(body), armpit_of(body)
    assert chest
    assert armpit
    return chest, armpit


def test_two_inches_are_not_fifty_millimetres_over_twenty_holes() -> None:
    """2 in = 50.8 mm: 16.0 mm off after twenty pitches."""
    inches, metric = Holes(300, 508, 21), Holes(300, 500, 21)
    assert inches.top_mm(21) - metric.top_mm(21) == 16
    assert [inches.top_mm(hole) for hole in (1, 2, 3, 6)] == [300, 351, 402, 554]


@pytest.mark.parametrize("hole", [0, 31, -1])
def test_a_hole_that_is_not_there_is_refused(hole: int) -> None:
    assert isinstance(TIED.stands, Holes)
    with pytest.raises(ValueError, match="1 to 30"):
        TIED.stands.top_mm(hole)


@pytest.mark.parametrize(
    ("chest_mm", "armpit_mm", "mat_mm", "hole", "above_chest_mm"),
    [
        (1250, 1330, 0, 20, 0),  # common practice, no source: a low bar about at chest height
        (1249, 1330, 0, 19, -49),  # common practice, no source: between two holes the lower
        (1299, 1330, 0, 20, -49),
        (1250, 1330, 20, 20, -20),  # who stands on a mat stands higher
        (290, 310, 0, 1, 10),  # none under the chest: the lowest, while it is not above the armpit
        (1900, 2000, 0, 30, -150),
    ],
)
def test_low_bar_stands_at_the_chest(
    chest_mm: int, armpit_mm: int, mat_mm: int, hole: int, above_chest_mm: int
) -> None:
    bar = BarPlace(TIED.stands, 280, mat_mm=mat_mm)
    chest, armpit = (Height(mm, mm, mm, measured=True) for mm in (chest_mm, armpit_mm))
    fit = low_setting(bar, chest, armpit)
    assert fit is not None
    assert (fit.setting.hole, fit.above_chest_mm) == (hole, above_chest_mm)


def test_no_hole_above_the_armpit_is_given_out_for_want_of_another() -> None:
    chest, armpit = (Height(mm, mm, mm, measured=True) for mm in (250, 299))
    assert low_setting(TIED, chest, armpit) is None


@given(bars, bodies())
def test_low_bar_is_never_above_the_armpit_nor_lower_than_it_need_be(bar: BarPlace, body: Body) -> None:
    chest, armpit = heights(body)
    fit = low_setting(bar, chest, armpit)
    tops = [bar.above_mat_mm(setting) for setting in bar.settings]
    if fit is None:
        assert min(tops) > armpit.low_mm
        return
    top_mm = bar.above_mat_mm(fit.setting)
    assert top_mm <= armpit.low_mm
    under = [top for top in tops if top <= chest.mm]
    assert top_mm == (max(under) if under else min(tops))


@given(bars, bodies(), bodies())
def test_of_two_with_measured_heights_the_taller_never_gets_the_lower_hole(
    bar: BarPlace, one: Body, other: Body
) -> None:
    small, tall = sorted((heights(one), heights(other)), key=lambda each: (each[0].mm, each[1].low_mm))
    assume(small[1].low_mm <= tall[1].low_mm)
    first, second = low_setting(bar, *small), low_setting(bar, *tall)
    if first and second:
        assert first.setting.top_mm <= second.setting.top_mm


@pytest.mark.parametrize(
    ("above_chest_mm", "above_armpit_mm", "suits"),
    [(0, -80, True), (-TOO_LOW_MM, -180, True), (-TOO_LOW_MM - 1, -181, False), (80, 0, True), (81, 1, False)],
)
def test_a_setting_suits_from_a_little_below_the_chest_up_to_the_armpit(
    above_chest_mm: int, above_armpit_mm: int, *, suits: bool
) -> None:
    assert LowFit(Setting(1, 1000), above_chest_mm, above_armpit_mm).suits is suits


# ---- Room ----------------------------------------------------------------------------------------------------------


def test_hang_counts_half_the_bar_the_mat_and_pointed_toes() -> None:
    """2550 − 16 (half of 32 mm) − 20 − 159 (0.091 of 1750) − 2100 = 255 mm; over the reach's interval 154 to 322."""
    body = Body(1750)
    reach, toes = reach_of(body), toes_mm(body)
    assert reach
    assert toes
    found = hang_room(HIGH, Setting(None, 2550), reach, toes)
    assert found == Room(255, 154, 322)
    assert found.verdict == "clear"


@pytest.mark.parametrize(
    ("low_mm", "high_mm", "verdict"), [(1, 5, "clear"), (0, 5, "unsure"), (-5, 1, "unsure"), (-5, 0, "not clear")]
)
def test_room_is_clear_only_where_all_of_the_interval_is(low_mm: int, high_mm: int, verdict: str) -> None:
    assert Room(low_mm, low_mm, high_mm).verdict == verdict


@pytest.mark.parametrize(
    ("low_mm", "is_tight"), [(-1, False), (0, False), (1, True), (TIGHT_MM - 1, True), (TIGHT_MM, False)]
)
def test_room_is_tight_where_it_is_clear_by_little_for_somebody(low_mm, is_tight):
    assert Room(low_mm + 50, low_mm, low_mm + 80).is_tight is is_tight


@pytest.mark.parametrize(
    ("reach_mm", "box"),
    [(2514, None), (2513, Height(1, 1, 1, measured=True)), (2100, Height(414, 414, 414, measured=True))],
)
def test_box_is_as_high_as_the_reach_lacks(reach_mm: int, box: Height | None) -> None:
    """The middle of the bar is 2550 − 16 − 20 = 2514 mm over the mat."""
    reach = Height(reach_mm, reach_mm, reach_mm, measured=True)
    assert box_needed(HIGH, HIGH.settings[0], reach) == box


def test_box_for_an_estimated_reach_is_enough_at_the_low_end_of_it() -> None:
    reach = Height(2500, 2450, 2600, measured=False)
    assert box_needed(HIGH, HIGH.settings[0], reach) == Height(14, 0, 64, measured=False)


def test_legs_and_ceiling_take_the_leg_from_what_is_there() -> None:
    """0.621 of 1750 is 1087 mm; the ceiling is 3400 − 2550 = 850 mm over the bar."""
    leg = leg_of(Body(1750))
    assert leg
    front, behind = legs_room(HIGH.front_mm, leg), legs_room(HIGH.behind_mm, leg)
    above = ceiling_room(HIGH, HIGH.settings[0], leg)
    assert front
    assert behind
    assert above
    assert (front.mm, front.verdict) == (413, "clear")
    assert (behind.mm, behind.verdict) == (-37, "unsure")
    assert (above.mm, above.verdict) == (-237, "not clear")


def test_what_was_not_measured_is_never_free() -> None:
    leg = Height(1, 1, 1, measured=False)
    assert legs_room(None, leg) is None
    assert ceiling_room(TIED, TIED.settings[0], leg) is None


@given(st.integers(0, 6000), st.lists(st.integers(0, 3000), min_size=3, max_size=3))
def test_room_spans_what_the_lengths_leave(available_mm: int, ends: list[int]) -> None:
    low, mid, high = sorted(ends)
    found = room(available_mm, Height(mid, low, high, measured=False))
    assert found.low_mm <= found.mm <= found.high_mm
    assert (found.low_mm, found.high_mm) == (available_mm - high, available_mm - low)


@given(bars, bodies())
def test_free_setting_is_the_lowest_in_which_the_hang_is_free(bar: BarPlace, body: Body) -> None:
    reach, toes = reach_of(body), toes_mm(body)
    assert reach
    assert toes is not None
    found = free_setting(bar, reach, toes)
    free = [s for s in bar.settings if s.top_mm - bar.mat_mm - bar.diameter_tenths_mm / 20 - toes - reach.high_mm > 1]
    if free:
        assert found is not None
        assert found.top_mm <= free[0].top_mm
    if found:
        assert hang_room(bar, found, reach, toes).low_mm > 0


# ---- A group -------------------------------------------------------------------------------------------------------


def _sharers(*given: tuple[str, int, int]) -> list[Sharer]:
    return [
        Sharer(key, *(Height(mm, mm, mm, measured=True) for mm in (chest_mm, armpit_mm)))
        for key, chest_mm, armpit_mm in given
    ]


def test_group_gets_the_hole_that_suits_most_and_names_the_others() -> None:
    """Two of about the same height and a child: the bar is for the two, and named as too high for the child."""
    found = group_setting(TIED, _sharers(("ada", 1250, 1330), ("ben", 1290, 1370), ("mia", 950, 1010)))
    assert found.setting == Setting(20, 1250)
    assert found.unsuited == ("mia",)
    assert dict(found.fits)["mia"] == LowFit(Setting(20, 1250), above_chest_mm=300, above_armpit_mm=240)


def test_of_holes_that_suit_as_many_the_nearest_to_all_chests_is_taken() -> None:
    found = group_setting(TIED, _sharers(("ada", 1250, 1330), ("ben", 1240, 1330), ("cem", 1210, 1330)))
    assert found.setting == Setting(20, 1250)  # 0 + 10 + 40 mm, against 50 + 40 + 10 in hole 19
    assert found.unsuited == ()


def test_of_two_holes_as_near_the_lower_is_taken() -> None:
    found = group_setting(TIED, _sharers(("ada", 1225, 1330)))
    assert found.setting == Setting(19, 1200)


def test_a_group_of_nobody_is_refused() -> None:
    with pytest.raises(ValueError, match="Nobody"):
        group_setting(TIED, [])


@given(bars, st.lists(bodies(), min_size=1, max_size=6))
def test_no_other_hole_suits_the_group_better(bar: BarPlace, group: Sequence[Body]) -> None:
    sharers = [Sharer(str(place), *heights(body)) for place, body in enumerate(group)]
    found = group_setting(bar, sharers)
    assert found.setting in bar.settings
    assert [key for key, _ in found.fits] == [each.key for each in sharers]
    for setting in bar.settings:
        other = group_fit(bar, setting, sharers)
        lacking = sum(
            1
            for each in sharers
            if bar.above_mat_mm(setting) > each.armpit.low_mm or bar.above_mat_mm(setting) < each.chest.mm - TOO_LOW_MM
        )
        assert len(other.unsuited) == lacking
        assert len(found.unsuited) <= lacking
        if len(found.unsuited) == lacking:
            assert found.off_mm <= sum(abs(bar.above_mat_mm(setting) - each.chest.mm) for each in sharers)


@given(bars, bodies())
def test_nobody_whom_a_setting_suits_hangs_at_the_armpit(bar: BarPlace, body: Body) -> None:
    chest, armpit = heights(body)
    for setting in bar.settings:
        if low_fit(bar, setting, chest, armpit).suits:
            assert bar.above_mat_mm(setting) <= armpit.low_mm
