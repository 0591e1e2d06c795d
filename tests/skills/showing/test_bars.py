"""What the panel of the bars tells: figures with sources, nothing of what is not known, nothing in kilograms."""

from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.utils import timezone

from athletes.models import BodyMeasure
from skills.core.figures import Figure
from skills.queries.books import book_of
from skills.showing.bar_list import told_bars
from skills.showing.bars import bars_panel, usual_setting
from skills.showing.shared_bar import shared_bar
from tests.factories.bars import check_hole, make_high_bar, make_low_bar
from tests.factories.skills import library


@pytest.fixture(autouse=True)
def _in_the_afternoon():
    with time_machine.travel(datetime(2026, 6, 1, 15, 0, tzinfo=UTC)):
        yield


@pytest.fixture
def gym_with_steps(gym, owner):
    library(gym, owner)
    return gym


def measured(athlete, **metres):
    BodyMeasure.objects.create(gym=athlete.gym, athlete=athlete, measured_on=date(2026, 5, 20), **metres)


def panel(athlete, code="pullover-6", *, staff=True):
    step = book_of(athlete.gym).steps[code]
    return bars_panel(athlete=athlete, step=step, viewer_is_staff=staff, now=timezone.now())


def figures_in(value):
    if isinstance(value, Figure):
        yield value
    elif isinstance(value, (tuple, list)):
        for each in value:
            yield from figures_in(each)
    elif is_dataclass(value):
        for field in fields(value):
            yield from figures_in(getattr(value, field.name))


def told(value):
    return {figure.label: figure.value for figure in figures_in(value)}


def test_an_estimated_chest_sets_the_bar_with_its_interval(gym_with_steps, athlete):
    """0.727 of 1750 is 127 cm (122 to 132): hole 18 has 125.0 cm, 123.0 over the mat; holes 17 to 18 at the ends."""
    make_low_bar(gym_with_steps)
    measured(athlete, stature_m="1.750", mass_kg="71.25")
    shown = panel(athlete)
    (chest, armpit) = shown.body
    assert (chest.value, chest.interval) == ("127 cm", "122 to 132 cm, 90 of 100 adults of this stature")
    assert (armpit.kind, armpit.sources[0]) == ("estimate", "ours")
    setting = shown.bars[0].figures[0]
    assert setting.value == "hole 18, 125.0 cm over the floor, 123.0 cm over the mat: 4 cm below the chest"
    assert setting.interval == "hole 17 to 18, 90 of 100 adults of this stature"
    assert shown.bars[0].says == (
        "The next hole up, 19, is 1 cm above the chest, and it may be above the armpit: not that one."
    )
    assert "71.2" not in str(shown)
    assert "kg" not in str(shown)


def test_what_was_measured_has_no_interval_and_goes_before_estimates(gym_with_steps, athlete):
    make_low_bar(gym_with_steps, mat_mm=0)
    measured(athlete, stature_m="1.750", chest_m="1.300", armpit_m="1.390")
    setting = panel(athlete).bars[0].figures[0]
    assert (setting.kind, setting.interval) == ("measured", "")
    assert setting.value == "hole 19, 130.0 cm over the floor: at the chest"


def test_a_gym_in_imperial_units_reads_inches(gym_with_steps, athlete):
    gym_with_steps.units = "imperial"
    gym_with_steps.save()
    athlete.gym.refresh_from_db()
    make_low_bar(gym_with_steps, first_hole_mm=610, hole_pitch_tenths_mm=508, mat_mm=0)
    measured(athlete, stature_m="1.753")
    assert told(panel(athlete))["Set it into"] == "hole 14, 50.0 in over the floor: at the chest"


@pytest.mark.parametrize(
    ("bar", "words"),
    [
        ({"first_hole_mm": 1500, "holes": 4}, "Too high for this body: even in its lowest hole it stands 20 cm above"),
        ({"first_hole_mm": 600, "holes": 4}, "Low for this body: in its highest hole it stands 54 cm below the chest."),
    ],
)
def test_a_bar_that_is_not_for_this_body_says_by_how_much(gym_with_steps, athlete, bar, words):
    make_low_bar(gym_with_steps, **bar)
    measured(athlete, stature_m="1.750", chest_m="1.270", armpit_m="1.280")
    assert panel(athlete).bars[0].unfit.startswith(words)


def test_a_measure_that_cannot_be_is_asked_for_again_and_left_out(gym_with_steps, athlete):
    make_low_bar(gym_with_steps)
    measured(athlete, chest_m="0.600")  # before the stature was known
    measured(athlete, stature_m="1.750")
    shown = panel(athlete)
    assert shown.asks == (
        "The height of the chest that is noted cannot be: it lies outside 105.0 cm to 148.7 cm. Measure it again.",
    )
    assert shown.body[0].kind == "estimate"


def test_legs_that_meet_a_wall_are_told_and_what_is_unknown_is_asked_for(gym_with_steps, athlete):
    make_low_bar(gym_with_steps, clear_front_mm=1000, clear_behind_mm=1050, ceiling_mm=None)
    measured(athlete, stature_m="1.750")
    shown = panel(athlete)
    assert told(shown)["Straight legs in front"] == "too close by 9 cm"
    assert told(shown)["Straight legs behind"] == "may touch"
    assert "Straight legs over the bar" not in told(shown)
    assert [words for words in shown.bars[0].asks if "what is above" in words]


def test_a_high_bar_tells_hang_box_and_room(gym_with_steps, athlete):
    make_high_bar(gym_with_steps, mat_mm=20, clear_front_mm=1500)
    make_low_bar(gym_with_steps)
    measured(athlete, stature_m="1.750")
    shown = panel(athlete, "pullover-1")
    assert [bar.name for bar in shown.bars] == ["high bar 1"]
    assert told(shown) == {
        "Reach to the grip": "210 cm",
        "Hang with straight arms": "free of the mat by 26 cm",
        "Box to get hold of it": "41 cm",
        "Straight legs in front": "clear by 41 cm",
    }
    box = next(figure for figure in figures_in(shown) if figure.label.startswith("Box"))
    assert box.interval == "31 cm to 48 cm, which is enough in 95 of 100 cases"


@pytest.mark.parametrize(("front_mm", "is_tight"), [(1200, True), (1240, False)])
def test_legs_that_are_clear_by_little_are_told_with_a_caution(gym_with_steps, athlete, front_mm, is_tight):
    """The longest leg of the interval is 1113 mm, so that 87 and 127 mm are left."""
    make_high_bar(gym_with_steps, clear_front_mm=front_mm)
    measured(athlete, stature_m="1.750")
    front = next(figure for figure in figures_in(panel(athlete, "pullover-1")) if figure.label.endswith("in front"))
    assert front.value.startswith("clear by")
    assert ("Little room: it may be less than 10 cm, and a swing goes farther." in front.caution) is is_tight


def test_of_a_rack_the_lowest_hole_with_a_free_hang_is_taken(gym_with_steps, athlete):
    make_low_bar(gym_with_steps, kind="rail", holes=50)
    measured(athlete, stature_m="1.750", reach_m="2.100")
    (bar,) = panel(athlete, "pullover-1").bars
    assert bar.says == "Hole 39, 230.0 cm over the floor."  # 2100 + 159 + 20 + 14 = 2293 mm
    assert told(bar)["Hang with straight arms"] == "free of the mat by 1 cm"


def test_who_grows_hears_that_estimates_are_of_adults(gym_with_steps, minor):
    make_low_bar(gym_with_steps)
    make_high_bar(gym_with_steps, clear_front_mm=900)
    measured(minor, stature_m="1.480")
    for code in ("pullover-6", "pullover-1"):
        shown = panel(minor, code)
        assert all(
            "proportions of adults" in figure.caution for figure in figures_in(shown) if figure.kind == "estimate"
        )


def test_checks_are_told_to_staff_alone(gym_with_steps, coach, athlete):
    low = make_low_bar(gym_with_steps)
    measured(athlete, stature_m="1.750")
    check_hole(coach, low, 6)
    shown = panel(athlete).bars[0]
    assert (shown.checked, shown.asks_check) == ("Checked today at 17:00 in hole 6 by Cleo Adeyemi", True)
    hidden = panel(athlete, staff=False).bars[0]
    assert (hidden.checked, hidden.asks_check) == ("", False)
    check_hole(coach, low, 18)
    assert not panel(athlete).bars[0].asks_check


def test_who_is_no_staff_is_sent_to_a_coach_for_what_is_not_known(gym_with_steps, athlete):
    measured(athlete, stature_m="1.750")
    assert panel(athlete, staff=False).asks == ()
    make_low_bar(gym_with_steps)
    (bar,) = panel(athlete, staff=False).bars
    assert len(bar.asks) == 3
    assert all(words.endswith("it is not taken as free. Ask a coach.") for words in bar.asks)


def test_without_bars_or_on_the_floor_nothing_is_made_up(gym_with_steps, athlete):
    measured(athlete, stature_m="1.750")
    assert panel(athlete).asks == ("The list has no low bar: describe the gym’s bars first.",)
    assert panel(athlete, "l-hold-1").place == ""


def test_every_figure_has_its_sources_and_every_estimate_its_interval(gym_with_steps, coach, athlete, minor):
    low = make_low_bar(gym_with_steps, clear_front_mm=1500, clear_behind_mm=900, ceiling_mm=2300)
    make_high_bar(gym_with_steps, clear_front_mm=1500, ceiling_mm=3500)
    measured(athlete, stature_m="1.750", chest_m="1.270")
    measured(minor, stature_m="1.480")
    shown = [panel(who, code) for who in (athlete, minor) for code in ("pullover-1", "pullover-3a", "pullover-6")]
    group = shared_bar(bar=low, group=[(athlete, "1 Ada"), (minor, "2 M. O.")], now=timezone.now())
    found = [*figures_in([*shown, group])]
    assert len(found) > 20
    for figure in found:
        assert figure.cited
        assert figure.formula
        assert figure.inputs
        assert "kg" not in str(figure)


def test_one_body_costs_three_queries_however_many_bars(gym_with_steps, athlete, django_assert_num_queries):
    measured(athlete, stature_m="1.750")
    book_of(athlete.gym)
    for place in range(3):
        make_low_bar(gym_with_steps, f"low {place}")
        with django_assert_num_queries(3):
            panel(athlete)
    with django_assert_num_queries(0):
        panel(athlete, "l-hold-1")


def test_a_group_costs_two_queries_however_many_there_are(gym_with_steps, athlete, minor, django_assert_num_queries):
    low = make_low_bar(gym_with_steps)
    for who in (athlete, minor):
        measured(who, stature_m="1.600")
    for group in ([(athlete, "1")], [(athlete, "1"), (minor, "2")]):
        with django_assert_num_queries(2):
            shared_bar(bar=low, group=group, now=timezone.now())


def test_the_list_costs_one_query(gym_with_steps, coach, django_assert_num_queries):
    bars = [make_low_bar(gym_with_steps, f"low {place}") for place in range(3)]
    check_hole(coach, bars[1], 4)
    with django_assert_num_queries(1):
        rows = told_bars(gym_with_steps, bars, timezone.now())
    assert [row.checked for row in rows] == ["", "Checked today at 17:00 in hole 4 by Cleo Adeyemi", ""]


def test_the_usual_setting_is_of_the_first_bar_that_suits(gym_with_steps, athlete):
    low = make_low_bar(gym_with_steps, "too low", holes=4)
    good = make_low_bar(gym_with_steps)
    assert usual_setting(athlete, [low, good], timezone.now()) == ""
    measured(athlete, stature_m="1.750")
    assert usual_setting(athlete, [low, good], timezone.now()) == f"{good.id}:18"
    assert usual_setting(athlete, [], timezone.now()) == ""
