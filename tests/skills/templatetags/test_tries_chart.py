"""The chart of the last tries: labels of days, what is asked, the table beside it."""

from skills.core.criteria import parse
from skills.core.days import moment_us
from skills.core.facts import Attempt
from skills.templatetags.tries_chart import tries_chart
from skills.wording import terms_of
from tests.factories.skills import days_before_now, library


def tried(*, hold_tenths: int | None = None, reps: int = 1, days_ago: float = 0, pain: bool = False) -> Attempt:
    return Attempt(
        id="a",
        step="pullover-1",
        happened_us=moment_us(days_before_now(days_ago)),
        recorded_us=0,
        session="",
        hold_tenths=hold_tenths,
        reps=reps,
        unbroken=True,
        source="judged",
        assistance="none",
        variant="",
        faults=frozenset(),
        missed=frozenset(),
        pain=pain,
        grade=0,
        closed_try=False,
    )


def chart_of(gym, tries, criterion=None, code="pullover-1"):
    book = library(gym)
    return tries_chart(book.steps[code], tries, parse(criterion) if criterion else None, terms_of(book))["chart"]


def labels(chart) -> list[str]:
    parts = chart.svg.split('<text class="tick-x"')[1:]
    return [part[part.index(">") + 1 : part.index("</text>")] for part in parts]


def test_the_largest_target_of_the_criterion_is_drawn(gym):
    asked = {"any": [{"best": {"seconds": 20}}, {"holds": {"count": 3, "seconds": 10}}]}
    chart = chart_of(gym, [tried(hold_tenths=48)], asked)
    assert 'class="target"' in chart.svg
    assert "1 try, from 4.8 to 4.8 seconds; the criterion asks for 20." in chart.svg


def test_without_a_target_for_the_kind_no_line_is_drawn(gym):
    chart = chart_of(gym, [tried(hold_tenths=48)], {"step": "pullover-2"})
    assert 'class="target"' not in chart.svg


def test_each_day_is_labelled_once_at_its_first_try(gym):
    chart = chart_of(gym, [tried(hold_tenths=30, days_ago=day) for day in (2, 2, 2, 0, 0, 0)])
    first, second = (days_before_now(day) for day in (2, 0))
    assert [label for label in labels(chart) if label] == [f"{day.day} {day:%b}" for day in (first, second)]


def test_labels_are_left_out_where_they_would_run_into_one_another(gym):
    chart = chart_of(gym, [tried(hold_tenths=30, days_ago=day) for day in range(20, 0, -1)])
    assert 3 <= len([label for label in labels(chart) if label]) <= 6


def test_a_try_with_pain_is_not_drawn_as_clean(gym):
    chart = chart_of(gym, [tried(hold_tenths=48, pain=True)])
    assert 'class="dot-open"' in chart.svg
    assert 'class="dot"' not in chart.svg
    assert chart.rows[0][3] == "pain"


def test_reps_of_holds_are_counted_beside_their_seconds(gym):
    chart = chart_of(gym, [tried(hold_tenths=50, reps=3)])
    assert chart.columns == ("Day", "Seconds", "Holds", "How")
    assert chart.rows[0][1:] == ("5.0", "3", "clean")


def test_reps_are_counted_in_whole_ones(gym):
    chart = chart_of(gym, [tried(reps=1)], {"reps": {"count": 3, "reps": 1}}, code="pullover-7")
    assert [label.split(">")[-1] for label in chart.svg.split("</text>") if 'class="tick-y"' in label] == ["0", "1"]
