"""What is told of the hold to expect, to whom, and what is said where nothing is."""

from datetime import datetime

import pytest
from django.template.loader import render_to_string

from athletes.models import Athlete
from skills.core.figures import Figure
from skills.models import Step
from skills.queries.books import book_of
from skills.services.library import touch_rules
from skills.showing.estimates import MINOR, EstimatesPanel, estimates_panel
from tests.factories.athletes import make_athlete
from tests.factories.holds import NOW, ago, both, hold
from tests.factories.skills import library, page_of


@pytest.fixture(autouse=True)
def _skills(gym):
    library(gym)


def panel_of(athlete: Athlete, code: str = "l-hold-4", now: datetime = NOW) -> EstimatesPanel:
    return estimates_panel(athlete=athlete, step=page_of(athlete.gym, code), now=now)


def figure_of(athlete: Athlete, code: str = "l-hold-4") -> Figure:
    figure = panel_of(athlete, code).figure
    assert figure is not None
    return figure


def test_a_tuck_of_a_minute_tells_a_straight_hold_with_its_band_and_sources(coach, athlete):
    hold(coach, athlete, "l-hold-2", 600, at=ago(3))
    hold(coach, athlete, "l-hold-2", 450, at=ago(2))
    figure = figure_of(athlete)
    assert (figure.label, figure.value, figure.kind) == (
        "Hold to expect at 4 L-hold on handles",
        "about 19 s",
        "estimate",
    )
    assert figure.interval.startswith("less than 6 s to 4")
    assert figure.interval.endswith("s, 90 of 100")
    inputs = dict(figure.inputs)
    assert inputs["Best clean hold at 2 Tucked support, last 8 weeks"] == "60.0 s"
    assert inputs["Moment about the hips there, over here"] == "0.62 (0.61 to 0.66)"
    assert inputs["Share of the greatest force"] == "53% there, 84% here"
    assert {source.key for source in figure.cited} >= {"rohmert-1960", "frey-law-avin-2010", "winter-2009"}
    assert "no evidence" in figure.caution
    assert "curve for the hip" in figure.caution


def test_a_short_tuck_says_not_yet(coach, athlete):
    hold(coach, athlete, "l-hold-2", 100, at=ago(3))
    assert figure_of(athlete).value == "less than 6 s, or not yet"
    assert figure_of(athlete).interval == "less than 6 s, 90 of 100"


def test_a_minor_and_who_has_no_birth_date_get_a_sentence_and_cost_no_query(
    coach, minor, gym, django_assert_num_queries
):
    undated = make_athlete(gym, "Eve Undated", birth_on=None)
    for person in (minor, undated):
        hold(coach, person, "l-hold-2", 600, at=ago(3))
        page = page_of(gym, "l-hold-4")
        book_of(person.gym)
        with django_assert_num_queries(0):
            panel = estimates_panel(athlete=person, step=page, now=NOW)
        assert panel == EstimatesPanel(MINOR)


def test_the_gyms_pairs_correct_from_five_on_and_how_they_did_is_told(coach, athlete, gym):
    hold(coach, athlete, "l-hold-2", 600, at=ago(3))
    for place in range(4):
        both(coach, make_athlete(gym, f"Ben {place}"), 600, 400)
    alone = panel_of(athlete)
    assert figure_of(athlete).value == "about 19 s"
    [told] = alone.notes
    assert told.startswith(
        "Of this gym 4 other grown people have clean holds on both steps from the same weeks; from 5"
    )
    both(coach, make_athlete(gym, "Ben Fifth"), 600, 400)
    assert figure_of(athlete).value == "about 39 s"
    assert dict(figure_of(athlete).inputs)["People of this gym with holds on both"] == "5"
    assert dict(figure_of(athlete).inputs)["By the curves alone"].startswith("about 19 s (less than 6 s to 4")
    assert "empirical Bayes" in figure_of(athlete).formula
    corrected, did = panel_of(athlete).notes
    assert corrected.startswith("Corrected by 5 other grown people")
    assert "5 of 5 holds lay in their band; 90 of 100 should." in did
    assert "half were off by" in did


def test_another_gyms_pairs_correct_nothing(coach, other_coach, athlete, other_gym):
    library(other_gym)
    hold(coach, athlete, "l-hold-2", 600, at=ago(3))
    for place in range(6):
        both(other_coach, make_athlete(other_gym, f"Fay {place}"), 600, 400)
    assert figure_of(athlete).value == "about 19 s"
    assert panel_of(athlete).notes[0].startswith("Of this gym 0 other grown people have")


def test_the_nearest_step_before_with_a_hold_is_taken(coach, athlete):
    hold(coach, athlete, "l-hold-2", 600, at=ago(3))
    assert "Best clean hold at 2 Tucked support, last 8 weeks" in dict(figure_of(athlete, "l-hold-5").inputs)
    hold(coach, athlete, "l-hold-4", 120, at=ago(3))
    assert "Best clean hold at 4 L-hold on handles, last 8 weeks" in dict(figure_of(athlete, "l-hold-5").inputs)
    assert figure_of(athlete, "l-hold-5").value == "about 12 s"  # the same pose, so the same hold


def test_what_is_held_there_already_is_shown_as_measured(coach, athlete):
    hold(coach, athlete, "l-hold-2", 600, at=ago(3))
    hold(coach, athlete, "l-hold-4", 83, at=ago(2))
    held = panel_of(athlete).held
    assert held is not None
    assert (held.value, held.kind) == ("8.3 s", "measured")


REFUSALS = [
    pytest.param("pullover-2", "With the thighs above 110°", id="legs at the bar"),
    pytest.param("l-hold-4", "no clean judged hold of the last 8 weeks at 2 Tucked support", id="no hold"),
    pytest.param("l-hold-2", "No pose is entered for a step before this one", id="nothing before"),
]


@pytest.mark.parametrize(("code", "words"), REFUSALS)
def test_where_nothing_can_be_told_a_sentence_says_why(athlete, code, words):
    panel = panel_of(athlete, code)
    assert words in panel.why_none
    assert (panel.figure, panel.is_empty) == (None, False)


def test_a_fold_of_another_angle_is_refused_with_both(athlete, gym):
    Step.objects.filter(gym=gym, code="l-hold-4").update(thigh_degrees=60)
    touch_rules(gym)
    assert "at 90° and 60°" in panel_of(athlete).why_none


@pytest.mark.parametrize(("tenths", "told"), [(99, False), (104, True), (110, False), (206, True), (600, False)])
def test_a_hold_just_over_a_count_may_have_been_ended_there(coach, athlete, tenths, told):
    hold(coach, athlete, "l-hold-2", tenths, at=ago(3))
    assert any("ended at the count" in words for words in panel_of(athlete).notes) is told


def test_a_hold_of_five_seconds_tells_nothing(coach, athlete):
    hold(coach, athlete, "l-hold-2", 56, at=ago(3))
    assert "A hold of 5.6 s tells nothing" in panel_of(athlete).why_none


def test_a_hold_longer_than_the_curves_says_so(coach, athlete):
    hold(coach, athlete, "l-hold-2", 5000, at=ago(3))
    assert "longer than the curves are known for, which is 406 s" in panel_of(athlete).why_none


@pytest.mark.parametrize("code", ["pullover-3", "l-hold-3"])
def test_steps_of_reps_and_without_a_pose_show_nothing(athlete, code):
    assert panel_of(athlete, code).is_empty


def test_queries_are_as_many_for_one_hold_as_for_years_of_them(coach, athlete, gym, django_assert_num_queries):
    page = page_of(gym, "l-hold-4")
    book_of(athlete.gym)
    for count in (1, 30):
        for place in range(count):
            hold(coach, athlete, "l-hold-2", 300 + place, at=ago(1 + place * 50))
            both(coach, make_athlete(gym, f"Ben {count} {place}"), days=30 + place)
        with django_assert_num_queries(3):
            estimates_panel(athlete=athlete, step=page, now=NOW)


def test_the_panel_reads_as_a_page_with_chart_and_table(coach, athlete):
    hold(coach, athlete, "l-hold-2", 600, at=ago(3))
    html = render_to_string("skills/estimates/_panel.html", {"panel": panel_of(athlete)})
    for words in (
        "estimate",
        "Where from?",
        "The same as a table",
        "endurance-desc",
        "none of them is of the hip",
        "Filled: 2 Tucked",
    ):
        assert words in html
