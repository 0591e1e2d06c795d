"""The owner's page of what last month would have been: asked, watched, read; for nobody else."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from athletes.models import Person
from skills.core.month import Month
from skills.core.rotation.what_if import Change, Pair, Practice
from skills.models import WorkPlace
from skills.queries import what_ifs as queries
from skills.queries.what_ifs import past_classes
from skills.services import what_ifs as service
from skills.showing.what_ifs import told, words_of
from skills.views import what_ifs as views
from tests.factories.athletes import make_athlete
from tests.factories.class_plans import make_hall, make_measured
from tests.factories.skills import library, start_class
from tests.helpers.html import elements, text_of, what_breaks_the_policy
from tests.helpers.html import words_of as plain

HERE = "/what-if/"
SEPTEMBER = datetime(2026, 9, 14, 16, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _october(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    with time_machine.travel(datetime(2026, 10, 2, 12, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def held(owner, coach):
    """Two classes of September of three people each; one of them has no class of the day after."""
    library(owner.gym, owner)
    make_hall(owner.gym)
    people = [make_athlete(owner.gym, f"Person {number}", number=number + 50) for number in range(3)]
    for person in people:
        make_measured(person)
    return [over(coach, people, days) for days in (0, 1)]


def over(coach, people, days=0):
    session = start_class(coach, *people, name=f"class {days}")
    session.starts_at = SEPTEMBER + timedelta(days=days)
    session.ended_at = session.starts_at + timedelta(minutes=75)
    session.save()
    return session


def practice(people=4, minutes=24, resets=0):
    return Practice(people, minutes, 2, minutes, resets, 90, 100)


def run_of(*pairs, classes=2, at_work=False):
    names = [service.Told(f"class {n}", SEPTEMBER.date(), pair, done=True) for n, pair in enumerate(pairs)]
    waiting = [service.Told("later", SEPTEMBER.date())] * (classes - len(pairs))
    return service.Run(Month(2026, 9), Change(low_bar=True, coach=True), (*names, *waiting), classes + 3, at_work)


def shown(monkeypatch, run):
    monkeypatch.setattr(views, "last_run", lambda _gym: run)


# ---- What is asked --------------------------------------------------------------------------------------------------


def test_classes_are_read_with_who_was_there_and_without_names(held, gym):
    past = past_classes(gym, Month(2026, 9))
    assert [(each.name, each.on.day, [p.key for p in each.ask.people]) for each in past.classes] == [
        ("class 0", 14, ["01", "02", "03"]),
        ("class 1", 15, ["01", "02", "03"]),
    ]
    # 75 minutes, ten of them to warm up: five rotations of twelve.
    assert {(each.ask.rotations, each.ask.coaches) for each in past.classes} == {(5, 1)}
    assert (past.found, past.stations) == (2, 4)
    assert past.bar in past.classes[0].ask.station
    assert all(station.hole is None for station in past.classes[0].ask.stations)


def test_only_the_last_classes_of_the_month_are_asked_about(held, gym, monkeypatch):
    monkeypatch.setattr(queries, "MOST_CLASSES", 1)
    past = past_classes(gym, Month(2026, 9))
    assert ([each.name for each in past.classes], past.found) == (["class 1"], 2)


def test_another_month_and_another_gym_are_left_alone(held, gym, other_gym):
    assert past_classes(gym, Month(2026, 8)).classes == ()
    assert past_classes(other_gym, Month(2026, 9)).classes == ()


def test_a_class_that_runs_or_had_nobody_is_left_out(held, gym, coach, athlete):
    start_class(coach, athlete)
    over(coach, [], 2)
    assert past_classes(gym, Month(2026, 9)).found == 2


def test_more_people_cost_no_more_queries(held, gym, coach):
    def queries_of():
        with CaptureQueriesContext(connection) as caught:
            past_classes(gym, Month(2026, 9))
        return len(caught)

    past_classes(gym, Month(2026, 9))  # reads the gym's book, once
    held[1].delete()
    few = queries_of()
    held[0].delete()
    over(coach, [make_athlete(gym, f"More {number}", number=number + 80) for number in range(6)])
    assert queries_of() == few


def test_who_was_erased_is_still_somebody_who_was_there(held, gym):
    before = past_classes(gym, Month(2026, 9))
    Person.objects.filter(gym=gym, full_name="Person 1").update(full_name="")
    assert past_classes(gym, Month(2026, 9)) == before


# ---- The page -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["coach", "reader", "athlete_member", "guardian"])
def test_nobody_but_the_owner_may(client_of, request, who):
    client = client_of(request.getfixturevalue(who))
    assert [client.get(HERE).status_code, client.post(HERE, {"coach": "on"}).status_code] == [403, 403]


def test_asking_leads_to_the_answer(client_of, owner, held, monkeypatch):
    asked = []
    monkeypatch.setattr(views, "start", lambda **what: asked.append(what))
    answer = client_of(owner).post(HERE, {"low_bar": "on", "people": "on"})
    assert (answer.status_code, answer["Location"]) == (303, HERE)
    (what,) = asked
    assert (what["gym"], what["change"]) == (owner.gym, Change(low_bar=True, people=True))
    assert len(what["past"].classes) == 2


def test_asked_and_answered_with_the_process_itself(client_of, owner, held):
    client = client_of(owner)
    assert client.post(HERE, {"coach": "on"}).status_code == 303
    service._started[-1].wait(timeout=120)
    page = plain(client.get(HERE))
    assert "September 2026 with two coaches 2 classes, each planned twice." in page
    assert "of 2 classes are worked out" not in page


@pytest.mark.parametrize(
    ("chosen", "sentence"),
    [
        ({}, "Choose at least one thing that would be different."),
        ({"coach": "on"}, "No class with people in it was ended in that month."),
    ],
)
def test_what_cannot_be_asked_is_said(client_of, owner, chosen, sentence):
    answer = client_of(owner).post(HERE, chosen)
    assert answer.status_code == 422
    assert sentence in plain(answer)


def test_without_stations_or_a_low_bar_it_is_said_what_is_missing(client_of, owner, held):
    rows = WorkPlace.objects.filter(gym=owner.gym)
    rows.filter(kind="low_bar").delete()
    assert "No low bar is among the stations" in plain(client_of(owner).post(HERE, {"low_bar": "on"}))
    rows.all().delete()
    assert "No station is described yet" in plain(client_of(owner).post(HERE, {"coach": "on"}))


def test_a_question_in_the_making_keeps_the_next_one_waiting(client_of, owner, held, monkeypatch):
    def busy(**_what):
        raise service.AtWorkError

    monkeypatch.setattr(views, "start", busy)
    answer = client_of(owner).post(HERE, {"coach": "on"})
    assert (answer.status_code, "still being worked out" in plain(answer)) == (422, True)


def test_while_at_work_the_part_asks_again_by_itself_and_reads_without_script(client_of, owner, monkeypatch):
    shown(monkeypatch, run_of(Pair(practice(), practice()), at_work=True))
    html = text_of(client_of(owner).get(HERE))
    (part,) = elements(html, "section", id="answer")
    assert (part.attrs["hx-get"], part.attrs["hx-trigger"]) == (HERE, "every 2s")
    assert "1 of 2 classes are worked out. Look again" in plain(client_of(owner).get(HERE))
    assert list(what_breaks_the_policy(html)) == []
    fragment = text_of(client_of(owner).get(HERE, headers={"HX-Request": "true"}))
    assert fragment.strip().startswith('<section id="answer"')


def test_a_killed_process_and_classes_without_a_plan_are_told(client_of, owner, monkeypatch):
    shown(monkeypatch, run_of(Pair(practice(), practice()), None, classes=3))
    page = plain(client_of(owner).get(HERE))
    assert "Ended before its time, after 2 of 3 classes" in page
    assert "Of 1 class no plan was found in time; it is left out of the figures." in page
    assert "The last 3 of 6 classes of the month." in page


def test_figures_are_estimates_with_what_stands_behind_them_and_the_chart_has_its_table(client_of, owner, monkeypatch):
    pairs = (Pair(practice(4, 24), practice(4, 12, 1)), Pair(practice(8, 24), practice(8, 24)))
    shown(monkeypatch, run_of(*pairs))
    html = text_of(client_of(owner).get(HERE))
    page = plain(client_of(owner).get(HERE))
    assert (
        "Idle, for each person and class 3.0 min instead of 4.0 min (−1.0) estimate −3.0 to ±0 min in single classes"
        in page
    )
    assert "Times that a bar is set to another hole, for each class 0.5 instead of 0.0 (+0.5) estimate" in page
    assert page.count("Where from?") == 4
    assert "at most 10.0% below the best there can be" in page
    assert "class 0, 14 Sep412 instead of 24 min12 instead of 24 min1 instead of 0" in page
    assert len(elements(html, "svg")) == 1


def test_one_class_or_many_have_a_chart():
    for count in (1, 2, 5, 6, 20):
        answer = told(run_of(*[Pair(practice(), practice())] * count, classes=count))
        assert answer.chart is not None
        assert len(answer.chart.rows) == count


def test_what_was_asked_in_words():
    assert words_of(Change(coach=True)) == "two coaches"
    whole = Change(low_bar=True, people=True, coach=True)
    assert words_of(whole) == "one more low bar, 16 instead of 12 people and two coaches"
    assert words_of(replace(whole, people=False)) == "one more low bar and two coaches"
