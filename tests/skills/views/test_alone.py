"""Who may do what alone: what is in effect at this moment, and until when time alone changes nothing."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from skills.core.days import moment_of, moment_us
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines
from skills.services.cautions import enter_caution
from tests.factories.athletes import make_athlete
from tests.factories.skills import decide, library, pass_step, reach, start_class
from tests.skills.season import STEP, at


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


@pytest.fixture
def alone(client_of, coach):
    return lambda query="", who=None: client_of(who or coach).get(f"/alone/{query}")


def told(response):
    """Name, then what may be done alone, with a coach present, and spotted, by the labels of the steps."""
    return [(person["athlete"].board_name, *person["may"]) for person in response.context["people"]]


def words(response):
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def test_each_athlete_stands_with_what_is_in_effect_and_minors_by_initials(alone, coach, athlete, minor, gym):
    pass_step(coach, athlete, STEP)
    decide(coach, athlete, STEP, clearance="alone")
    reach(coach, minor, STEP)
    make_athlete(gym, "Bo Li")
    assert told(alone()) == [("Ada Lindqvist", ["Bar pullover: 3a"], [], []), ("M. O.", [], ["Bar pullover: 3a"], [])]
    assert "Okafor" not in alone().content.decode()
    assert "Bo Li" not in words(alone())
    assert "The steps Bar pullover: 3a Tucked inverted hang with the floor in reach." in words(alone())


def test_those_present_today_can_be_chosen_and_are_all_listed(alone, coach, athlete, minor, gym):
    pass_step(coach, athlete, STEP)
    start_class(coach, minor)
    assert told(alone("?present=1")) == [("M. O.", [], [], [])]
    assert told(alone("?present=2")) == told(alone())
    start_class(coach, athlete, name="Open gym")
    assert [row[0] for row in told(alone("?present=1"))] == ["Ada Lindqvist", "M. O."]


def test_a_caution_takes_the_clearance_and_stands_without_its_reason(alone, coach, athlete):
    pass_step(coach, athlete, STEP)
    start_class(coach, athlete)
    until = timezone.now() + timedelta(hours=2)
    enter_caution(
        by=coach,
        athlete=athlete,
        loads=frozenset({"inversion"}),
        from_at=timezone.now(),
        until_at=until,
        reason="Wrist",
    )
    page = alone("?present=1")
    assert told(page) == [("Ada Lindqvist", [], [], [])]
    assert "No inversion, until" in words(page)
    assert "Wrist" not in words(page)


def test_time_alone_changes_the_list_at_the_moment_that_it_names_and_not_a_microsecond_before(alone, coach, athlete):
    pass_step(coach, athlete, STEP)
    decide(coach, athlete, STEP, clearance="alone")
    kept = kept_timelines(book_of(coach.gym), [athlete.id])[athlete.id][STEP]
    lowered = next(change for change in kept.changes if change.from_us > moment_us(timezone.now()))
    assert lowered.clearance == "spotted"
    due = moment_of(lowered.from_us)
    local = due.astimezone(coach.gym.zone)
    with at(due - timedelta(microseconds=1)):
        assert f"Time alone changes nothing before {local.day} {local:%b %Y %H:%M}" in words(alone())
        assert told(alone()) == [("Ada Lindqvist", ["Bar pullover: 3a"], [], [])]
    with at(due):
        assert told(alone()) == [("Ada Lindqvist", [], [], ["Bar pullover: 3a*"])]
        assert "* A coach has to look again" in words(alone())


def test_a_caution_that_ends_is_the_next_change(alone, coach, athlete):
    pass_step(coach, athlete, STEP)
    noon = (timezone.now() + timedelta(days=1)).astimezone(coach.gym.zone).replace(hour=12, minute=0)
    until = noon + timedelta(minutes=90)
    with at(noon):
        enter_caution(by=coach, athlete=athlete, loads=frozenset({"landing"}), from_at=noon, until_at=until, reason="")
        assert f"changes nothing before {until.day} {until:%b %Y} 13:30" in words(alone())


def test_at_midnight_the_list_is_old(alone, coach, athlete):
    """Somebody may leave, or come of age, with the day."""
    pass_step(coach, athlete, STEP)
    noon = (timezone.now() + timedelta(days=1)).astimezone(coach.gym.zone).replace(hour=12, minute=0)
    midnight = noon + timedelta(days=1)
    with at(noon):
        assert f"changes nothing before {midnight.day} {midnight:%b %Y} 00:00" in words(alone())


def test_a_class_that_was_never_ended_is_not_here_today(alone, coach, athlete):
    pass_step(coach, athlete, STEP)
    start_class(coach, athlete)
    with at(timezone.now() + timedelta(days=2)):
        assert "Ada Lindqvist" not in words(alone("?present=1"))


def test_who_has_left_is_not_listed(alone, coach, athlete):
    pass_step(coach, athlete, STEP)
    athlete.left_on = timezone.now().astimezone(coach.gym.zone).date()
    athlete.save()
    assert told(alone()) == []
    assert "Nobody has a clearance now." in words(alone())


def test_nobody_else_sees_it_and_it_is_kept_nowhere(alone, other_coach, athlete_member, coach, athlete):
    pass_step(coach, athlete, STEP)
    assert told(alone("", other_coach)) == []
    assert alone("", athlete_member).status_code == 403
    assert alone()["Cache-Control"] == "no-store"


@pytest.mark.parametrize("people", [1, 3])
def test_queries_do_not_grow_with_the_athletes(client_of, gym, coach, django_assert_num_queries, people):
    for number in range(people):
        found = make_athlete(gym, f"Ada {number}")
        pass_step(coach, found, STEP)
        start_class(coach, found)
    client = client_of(coach)
    client.get("/alone/")
    for query, queries in (("", 6), ("?present=1", 7)):
        with django_assert_num_queries(queries):
            client.get(f"/alone/{query}")
