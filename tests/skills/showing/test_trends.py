"""What is told of how holds went: the slope, the day of the target, plateaus, and too few of them."""

import re

import pytest
from django.template.loader import render_to_string

from athletes.models import Athlete
from skills.queries.books import book_of
from skills.showing.trends import TrendsPanel, trends_panel
from tests.factories.holds import NOW, ago, hold
from tests.factories.skills import library, page_of


@pytest.fixture(autouse=True)
def _skills(gym):
    library(gym)


@pytest.fixture
def held(coach, athlete):
    """Log one hold a week on a step, the last one yesterday."""

    def held(*tenths: int, code: str = "l-hold-5") -> Athlete:
        for weeks, each in enumerate(reversed(tenths)):
            hold(coach, athlete, code, each, at=ago(1 + 7 * weeks))
        return athlete

    return held


def panel_of(athlete: Athlete, code: str = "l-hold-5") -> TrendsPanel:
    return trends_panel(athlete=athlete, step=page_of(athlete.gym, code), now=NOW)


def values_of(panel: TrendsPanel) -> dict[str, tuple[str, str]]:
    return {figure.label: (figure.value, figure.interval) for figure in panel.figures}


def test_a_steady_rise_has_its_slope_and_the_day_of_the_target(held):
    """5 tenths a week through 5 s two weeks before the last: 10 s take ten weeks from there, so eight from the last."""
    panel = panel_of(held(40, 45, 50, 55, 60))
    assert panel.said == ("The holds became longer over 5 days of practice from 10 Feb 2026 to 10 Mar 2026.",)
    assert values_of(panel) == {
        "Change of the best hold": ("+0.50 s a week", "+0.50 to +0.50 s a week, 90 of 100"),
        "10 s would be met": ("about 5 May 2026", "if it goes on like this; 90 of 100 for the slope"),
    }


def test_an_uneven_rise_has_a_range_of_days(held):
    value, _ = values_of(panel_of(held(38, 47, 50, 52, 61, 60, 70)))["10 s would be met"]
    assert re.fullmatch(r"\d+ \w{3} 2026 to \d+ \w{3} 2026", value)


def test_a_rise_that_may_be_slow_has_no_last_day(held):
    """About half a tenth a week: the 5.7 s that lack take two years or so."""
    value, sure = values_of(panel_of(held(40, 41, 41, 42, 43, 42, 44, 43, 45, 44, 46)))["10 s would be met"]
    assert value.startswith("not before ")
    assert sure.endswith("whose slow end takes more than 2 years")


def test_under_five_days_no_trend_is_shown_but_the_holds_are(held):
    panel = panel_of(held(40, 45, 50, 55))
    assert panel.why_none == "No trend shown: clean judged holds on 4 days of the last 26 weeks; a trend takes 5."
    assert panel.figures == ()
    assert panel.chart is not None
    assert 'class="band"' not in panel.chart.svg


def test_without_a_hold_there_is_the_sentence_alone(athlete):
    panel = panel_of(athlete)
    assert "on 0 days" in panel.why_none
    assert panel.chart is None


def test_a_slope_that_may_be_nought_has_no_day(held):
    panel = panel_of(held(50, 70, 45, 65, 52, 60))
    assert panel.said[0].startswith("Neither longer nor shorter")
    assert panel.said[-1] == "The 10 s that the criterion asks for are not in sight at this rate."
    assert [*values_of(panel)] == ["Change of the best hold"]


def test_two_tenths_more_are_no_progress(held):
    assert "Changes under 0.3 s are no progress." in panel_of(held(50, 50, 50, 51, 51, 51, 52, 52, 52)).said[0]


def test_a_plateau_is_said_plainly_with_what_makes_one(held):
    plateau = panel_of(held(50, 80, 79, 81, 78, 80, 80)).said[1]
    assert plateau.startswith("A plateau: since 8 s on 3 Feb 2026 no hold was longer by 0.3 s or more, on 5 days")
    assert "told from 5 such days and 28 days on" in plateau


def test_who_holds_what_is_asked_is_on_no_plateau(held):
    said = panel_of(held(90, 104, 105, 103, 102, 104, 101, 103)).said
    assert not [words for words in said if "plateau" in words]
    assert said[-1] == "The 10 s that the criterion asks for were held on 27 Jan 2026."


def test_holds_that_fell_are_told_as_shorter(held):
    assert "became shorter" in panel_of(held(90, 85, 80, 74, 70)).said[0]


def test_a_step_of_reps_shows_nothing(athlete):
    assert panel_of(athlete, "pullover-3").is_empty


def test_a_minor_sees_their_own_trend(coach, minor):
    for weeks in range(5):
        hold(coach, minor, "l-hold-5", 60 - 4 * weeks, at=ago(1 + 7 * weeks))
    assert panel_of(minor).figures


def test_one_query_however_long_the_history_is(held, gym, django_assert_num_queries):
    athlete = held(*range(40, 66))
    page, _ = page_of(gym, "l-hold-5"), book_of(athlete.gym)
    with django_assert_num_queries(1):
        trends_panel(athlete=athlete, step=page, now=NOW)


def test_the_chart_has_a_title_words_and_the_same_as_a_table(held):
    panel = panel_of(held(40, 45, 50, 55, 60))
    assert panel.chart is not None
    assert panel.chart.columns == ("Day", "Best clean hold", "By the line")
    assert panel.chart.rows[0] == ("10 Mar 2026", "6 s", "6.0 s")
    html = render_to_string("skills/trends/_panel.html", {"panel": panel})
    for words in ("trend-l-hold-5-desc", "The line changes by +0.50 s a week.", "Where from?", 'class="target"'):
        assert words in html
