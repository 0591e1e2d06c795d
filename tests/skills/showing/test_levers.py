"""The panel of levers: which figures stand for whom, each with its source; the scale; the drawing."""

import re
from datetime import date, datetime, timedelta
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest
from django.template.loader import render_to_string
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from athletes.models import Athlete, BodyMeasure, Gym
from skills.core.levers import Pose
from skills.queries.books import book_of
from skills.showing.body_drawing import body_in_support, body_on_bar
from skills.showing.levers import LeversPanel, levers_panel
from tests.factories.athletes import make_athlete, make_measure, years_before_today
from tests.factories.skills import library, page_of, pass_step

NEEDS_MASS = re.compile(r"\d (N·m|kg·m²|J|kg)\b")


@pytest.fixture(autouse=True)
def _library(gym: Gym) -> None:
    library(gym)


def panel_of(gym: Gym, code: str, athlete: Athlete | None = None, **more: object) -> LeversPanel:
    return levers_panel(
        **{
            "athlete": athlete,
            "step": page_of(gym, code),
            "viewer_is_staff": True,
            "now": timezone.now(),
            "book": None if athlete else book_of(gym),
            **more,
        }  # type: ignore[arg-type]
    )


def told(panel: LeversPanel) -> str:
    """Everything that the page says."""
    return render_to_string("skills/levers/_panel.html", {"panel": panel})


def values(panel: LeversPanel) -> dict[str, str]:
    return {figure.label: figure.value for figure in panel.figures}


def measured(athlete: Athlete, **values: object) -> None:
    given = {"measured_on": date(2026, 1, 12), "stature_m": Decimal("1.750"), "mass_kg": Decimal("70.00"), **values}
    BodyMeasure.objects.create(gym=athlete.gym, athlete=athlete, **given)


# ---- Figures --------------------------------------------------------------------------------------------


def test_the_moment_of_a_tuck_stands_for_a_body_with_its_range(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    panel = panel_of(gym, "pullover-1", athlete)
    moment = next(figure for figure in panel.figures if figure.label == "Moment at the hips, both legs")
    assert (moment.value, moment.interval[:14]) == ("51 N·m", "48 to 57 N·m: ")
    assert moment.inputs[:2] == (
        ("Stature", "1.75 m, measured 12 January 2026"),
        ("Mass", "70.0 kg, measured 12 January 2026"),
    )
    assert panel.figures[0].value == "62 % of straight legs held level"
    assert panel.figures[0].interval == "61 to 66 %: what the three tables give"
    assert values(panel)["Arms and trunk lean back in balance"] == "5°"
    assert values(panel)["What both shoulders hold together"] == "36 N·m"
    assert panel.asks == ()


NAMED = {
    "winter": ("Winter 2009", "51 N·m", "62 %"),
    "de-leva-men": ("de Leva 1996, men", "57 N·m", "66 %"),
    "de-leva-women": ("de Leva 1996, women", "48 N·m", "61 %"),
    "luck": ("Winter 2009", "51 N·m", "62 %"),
    "": ("Winter 2009", "51 N·m", "62 %"),
}


@pytest.mark.parametrize("table", NAMED)
def test_one_table_at_a_time_is_named(gym: Gym, athlete: Athlete, table: str) -> None:
    name, moment, share = NAMED[table]
    measured(athlete)
    panel = panel_of(gym, "pullover-1", athlete, table=table)
    assert panel.table == name
    assert values(panel)["Moment at the hips, both legs"] == moment
    assert panel.figures[0].value.startswith(share)
    hips = [figure for figure in panel.figures if "hips" in figure.label]
    assert {dict(figure.inputs)["Table"].split(";")[0] for figure in hips} == {name}
    assert [choice.name for choice in panel.tables if choice.is_chosen] == [name]


def test_what_of_a_table_is_from_memory_is_said(gym: Gym) -> None:
    panel = panel_of(gym, "pullover-1", table="de-leva-women")
    assert "from memory and not confirmed" in dict(panel.figures[0].inputs)["Table"]


def test_straight_legs_lifted_past_the_level_say_what_the_way_asks(gym: Gym) -> None:
    found = values(panel_of(gym, "pullover-2"))
    assert found["At the hips this pose asks"] == "50 % of straight legs held level"
    assert found["The most that lifting the legs there asks"] == "100 %, with the thighs at 90°"


def test_an_l_hold_says_what_keeps_the_knee_straight_and_nothing_of_a_hang(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    found = values(panel_of(gym, "l-hold-4", athlete))
    assert found["To keep one knee straight"] == "10.2 N·m"
    assert found["Moment at the hips, both legs"] == "82 N·m"
    assert not [label for label in found if "lean" in label or "shoulders" in label]


def test_a_step_over_the_bar_says_the_rise_and_the_work(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    found = values(panel_of(gym, "pullover-7", athlete))
    assert found["The centre of mass rises by"] == "1.18 m"
    assert found["The least work of getting there"] == "810 J"
    assert found["How much less a tuck resists being turned"] == "3 to 4 times less than a straight body"
    assert found["Moment of inertia, straight, arms overhead"] == "15.2 kg·m²"
    assert found["Moment of inertia, tucked"] == "5.9 kg·m²"


def test_a_turn_pushed_from_the_floor_has_no_work_of_a_hang(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    assert "The least work of getting there" not in values(panel_of(gym, "pullover-6", athlete))


def test_a_step_without_levers_shows_nothing(gym: Gym, athlete: Athlete) -> None:
    panel = panel_of(gym, "pull-up-4", athlete)
    assert panel.is_empty
    assert panel.asks == ()
    assert told(panel).strip() == ""


def test_every_figure_has_a_source_and_every_estimate_its_interval(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    seen = 0
    for page in book_of(gym).steps.values():
        panel = panel_of(gym, page.code, athlete)
        for figure in panel.figures:
            seen += 1
            assert figure.cited
            assert figure.inputs
            assert figure.kind != "estimate" or figure.interval
        assert told(panel).count("Where from?") == len(panel.figures)
    assert seen > 40


# ---- Whose ----------------------------------------------------------------------------------------------


def test_without_a_body_the_ratio_stands_and_the_rest_is_asked_for(gym: Gym, athlete: Athlete) -> None:
    panel = panel_of(gym, "l-hold-2", athlete)
    assert panel.asks == (
        "Not measured: stature and mass. Note stature and mass, and the figures that need them stand here too.",
    )
    assert [*values(panel)] == ["At the hips this pose asks"]


@pytest.mark.parametrize(
    ("values_", "sentence"),
    [
        ({"mass_kg": None}, "Not measured: mass. A coach can note mass, and the figures that need it stand here too."),
        (
            {"stature_m": None},
            "Not measured: stature. A coach can note stature, and the figures that need it stand here too.",
        ),
    ],
)
def test_what_is_missing_is_asked_for(gym: Gym, athlete: Athlete, values_: dict[str, object], sentence: str) -> None:
    measured(athlete, **values_)
    panel = panel_of(gym, "pullover-1", athlete, viewer_is_staff=False)
    assert panel.asks == (sentence,)
    assert not NEEDS_MASS.search(told(panel))


@pytest.mark.parametrize("code", ["pullover-1", "pullover-2", "pullover-7", "l-hold-4"])
@pytest.mark.parametrize("known", [True, False])
def test_nothing_of_a_minor_lets_the_mass_be_worked_out(gym: Gym, code: str, known: bool) -> None:  # noqa: FBT001
    minor = make_athlete(gym, "Mika Lund", birth_on=years_before_today(13) if known else None)
    make_measure(minor)
    for staff in (True, False):
        panel = panel_of(gym, code, minor, viewer_is_staff=staff)
        assert not NEEDS_MASS.search(told(panel))
        assert "68" not in told(panel)
        assert panel.figures
    assert "adult bodies" in told(panel_of(gym, "pullover-1", minor))


def test_a_minors_stature_is_asked_for_again_after_three_months(gym: Gym) -> None:
    minor = make_athlete(gym, "Mika Lund", birth_on=years_before_today(13))
    measured(minor, measured_on=timezone.now().date() - timedelta(days=100))
    again = "The stature was measured more than three months ago: measure it again."
    assert panel_of(gym, "pullover-7", minor).asks == (again,)
    measured(minor, measured_on=timezone.now().date())
    assert panel_of(gym, "pullover-7", minor).asks == ()


def test_without_mass_as_in_a_private_link_the_rise_and_the_ratio_are_left(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    panel = panel_of(gym, "pullover-7", athlete, with_mass=False)
    assert values(panel)["The centre of mass rises by"] == "1.18 m"
    assert not NEEDS_MASS.search(told(panel))
    assert "70.0" not in told(panel)


def test_a_body_that_nobody_has_is_told_and_left_out(gym: Gym, athlete: Athlete) -> None:
    measured(athlete, mass_kg=Decimal("700.00"))
    panel = panel_of(gym, "l-hold-4", athlete)
    assert panel.asks[-1].startswith("A mass is between 15 kg and 250 kg, not 700 kg.")
    assert not NEEDS_MASS.search(told(panel).replace("".join(panel.asks), ""))


def test_measures_stand_in_the_units_of_the_gym(gym: Gym, athlete: Athlete) -> None:
    measured(athlete)
    gym.units = "imperial"
    gym.save()
    athlete.refresh_from_db()
    inputs = dict(panel_of(gym, "pullover-1", Athlete.objects.get(pk=athlete.pk)).figures[1].inputs)
    assert inputs["Stature"].startswith("5 ft 9 in")
    assert inputs["Mass"].startswith("154 lb")


@pytest.mark.parametrize("steps", [1, 3])
def test_a_panel_costs_two_queries_and_none_for_nobody(
    gym: Gym, coach, athlete: Athlete, django_assert_num_queries, steps: int
) -> None:
    for code in ("pullover-1", "toes-1", "l-hold-1")[:steps]:
        pass_step(coach, athlete, code)
    measured(athlete)
    book = book_of(gym)
    athlete = Athlete.objects.select_related("person", "gym").get(pk=athlete.pk)
    with django_assert_num_queries(2):
        levers_panel(athlete=athlete, step=book.steps["pullover-1"], viewer_is_staff=True, now=timezone.now())
    with django_assert_num_queries(0):
        levers_panel(athlete=None, step=book.steps["pullover-1"], viewer_is_staff=True, now=timezone.now(), book=book)


# ---- The scale ------------------------------------------------------------------------------------------


def test_poses_of_a_skill_stand_in_order_of_what_they_ask_with_the_next_step_marked(
    gym: Gym, coach, athlete: Athlete
) -> None:
    pass_step(coach, athlete, "pullover-1")
    scale = panel_of(gym, "pullover-1", athlete).scale
    assert [(line.page.code, line.percent, line.span) for line in scale] == [
        ("pullover-1", 62, "61 to 66 %"),
        ("pullover-3", 62, "61 to 66 %"),
        ("pullover-2", 100, ""),
    ]
    assert [line.page.code for line in scale if line.is_next] == ["pullover-2"]
    assert [line.page.code for line in scale if line.is_shown] == ["pullover-1"]
    assert [line.state for line in scale] == ["passed", "working on it", "working on it"]


def test_for_nobody_no_step_is_the_next(gym: Gym) -> None:
    scale = panel_of(gym, "l-hold-4").scale
    assert [(line.page.code, line.is_next, line.state) for line in scale] == [
        ("l-hold-2", False, ""),
        ("l-hold-4", False, ""),
        ("l-hold-5", False, ""),
    ]


def test_trade_practice_is_named_as_such_and_where_it_ends(gym: Gym) -> None:
    notes = panel_of(gym, "pullover-4").notes
    assert len(notes) == 2
    assert all("common practice, no source" in note for note in notes)
    assert "about 110°" in notes[0]


# ---- The drawing ----------------------------------------------------------------------------------------


def test_a_drawing_has_title_description_and_both_angles(gym: Gym) -> None:
    drawing = str(panel_of(gym, "pullover-1").drawing)
    root = ET.fromstring(drawing)  # noqa: S314 (our own)
    assert root.find("title").text == "1 Tucked hold in a long-arm hang: the pose to scale"  # type: ignore[union-attr]
    assert "thighs 90° from straight down, knees bent by 120°" in root.find("desc").text  # type: ignore[operator, union-attr]
    assert [text.text for text in root.iter("text")] == ["90°", "120°"]
    assert "style=" not in drawing
    assert "<script" not in drawing


@given(st.integers(0, 180), st.integers(0, 160), st.booleans())
def test_lengths_are_to_scale_and_everything_lies_in_view(thigh: int, knee: int, hanging: bool) -> None:  # noqa: FBT001
    draw = body_on_bar if hanging else body_in_support
    root = ET.fromstring(draw(Pose(thigh, knee), name="b", title="<b>"))  # noqa: S314 (our own)
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    lengths = {}
    for line in root.iter("line"):
        x1, y1, x2, y2 = (float(line.attrib[key]) for key in ("x1", "y1", "x2", "y2"))
        lengths[line.attrib["class"].removeprefix("bone ")] = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 / 460
        if line.attrib["class"].startswith("bone"):
            assert left <= min(x1, x2) <= max(x1, x2) <= left + width
            assert top <= min(y1, y2) <= max(y1, y2) <= top + height
    # Drillis and Contini 1966: shares of stature.
    assert lengths["thigh"] == pytest.approx(0.245, abs=0.001)
    assert lengths["shank"] == pytest.approx(0.246, abs=0.001)
    assert lengths["trunk"] == pytest.approx(0.288, abs=0.001)
    if hanging:
        assert lengths["arm"] == pytest.approx(0.332 + 0.0465, abs=0.001)


def test_a_moment_of_now_is_asked_and_not_taken(gym: Gym, athlete: Athlete) -> None:
    """Who is a minor, and how old a stature is, is told for the moment that is asked about."""
    athlete.person.birth_on = date(2008, 6, 1)
    athlete.person.save()
    measured(athlete, measured_on=date(2026, 1, 12))
    before = datetime(2026, 5, 31, 12, tzinfo=gym.zone)
    panel = panel_of(gym, "pullover-1", athlete, now=before)
    assert not NEEDS_MASS.search(told(panel))
    assert panel.asks == ("The stature was measured more than three months ago: measure it again.",)
