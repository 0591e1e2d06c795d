"""Who may do what in a class that is planned: as what, with how many hands, and what is left out."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone

from athletes.models import BodyMeasure, Person
from skills.queries.books import book_of
from skills.queries.class_plans import crowd_of
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution
from skills.services.sessions import choose_step
from tests.factories.athletes import make_athlete, make_consent, years_before_today
from tests.factories.class_plans import make_measured
from tests.factories.skills import decide, library, log, meet, pass_step, reach, start_class, step_of


@pytest.fixture(autouse=True)
def _in_the_afternoon():
    """Far from midnight, which parts one day's checks from the next one's."""
    with time_machine.travel(datetime(2026, 6, 1, 15, 0, tzinfo=UTC)):
        yield


@pytest.fixture
def book(coach):
    return library(coach.gym)


def crowd(session):
    return crowd_of(book_of(session.gym), session, timezone.now())


def only(session):
    (person,) = crowd(session).people
    return person


def steps_as(person, role):
    return [doable.step for doable in person.doables if doable.role == role]


def pause(coach, athlete, *loads):
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset(loads), from_at=timezone.now(), until_at=None, reason="sore"
    )


def test_the_step_in_hand_is_the_next_one_the_focus_or_the_one_that_a_coach_chose(coach, book, athlete):
    pass_step(coach, athlete, "pullover-1")
    session = start_class(coach, athlete)
    following = steps_as(only(session), "in_hand")
    assert len(following) == 1
    assert steps_as(only(start_class(coach, athlete, focus="ring-1")), "in_hand") == ["ring-1"]
    attendance = session.attendances.get()
    choose_step(by=coach, attendance=attendance, step=step_of(coach.gym, "pullover-1"))
    assert steps_as(only(session), "in_hand") == ["pullover-1"]


def test_what_leads_to_the_step_in_hand_may_be_done_again(coach, book, athlete):
    reach(coach, athlete, "pullover-3")
    session = start_class(coach, athlete, focus="pullover-3")
    assert steps_as(only(session), "earlier") == [
        code for code in book.rules.steps["pullover-3"].requires if code != "pullover-3"
    ]


def test_side_work_is_at_other_stations_never_upside_down_and_never_with_a_hand(coach, book, athlete):
    pass_step(coach, athlete, "pullover-3a")
    person = only(start_class(coach, athlete))
    found = [doable for doable in person.doables if doable.role == "accessory"]
    assert 1 < len(found) <= 3
    (own,) = [doable for doable in person.doables if doable.role == "in_hand"]
    assert {doable.kind for doable in found} - {own.kind}
    others = [doable for doable in found if not book.steps[doable.step].side_drill]
    assert not any(doable.inverted or doable.spotters for doable in others)


def test_what_a_caution_forbids_is_nobodys_choice_and_the_next_step_takes_its_place(coach, book, athlete):
    session = start_class(coach, athlete)
    before = only(session)
    pause(coach, athlete, *book.rules.steps[steps_as(before, "in_hand")[0]].loads)
    after = crowd(session)
    (person,) = after.people
    forbidden = book.rules.steps[steps_as(before, "in_hand")[0]].loads
    assert person.doables
    assert not any(book.rules.steps[doable.step].loads & forbidden for doable in person.doables)
    assert steps_as(person, "in_hand") != steps_as(before, "in_hand")
    (left,) = after.left_out
    assert steps_as(before, "in_hand")[0] in left.paused
    assert (left.stopped, left.lacking) == ((), ())


def test_who_waits_for_the_entrance_is_tested_with_a_hand_on_them(coach, book, athlete):
    for code in book.rules.steps["pullover-3a"].requires:
        pass_step(coach, athlete, code)
    person = only(start_class(coach, athlete))
    tests = {doable.step: doable for doable in person.doables if doable.role == "test"}
    first = tests["pullover-3a"]
    assert (first.inverted, first.clearance, first.spotters) == (True, "spotted", 1)


def test_who_is_ready_is_tested_at_the_finish(coach, book, athlete):
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    person = only(start_class(coach, athlete))
    (test,) = [doable for doable in person.doables if doable.step == "pullover-3a" and doable.role == "test"]
    assert (test.clearance, test.spotters, test.first_try) == ("present", 0, False)


def over_high_bar(book):
    return next(
        code for code, page in book.steps.items() if book.rules.steps[code].inverted and page.station == "high_bar"
    )


def test_a_first_try_over_a_high_bar_takes_two_and_a_void_makes_it_the_first_again(coach, book, athlete):
    code = over_high_bar(book)
    reach(coach, athlete, code)
    session = start_class(coach, athlete, focus=code)

    def hands():
        (doable,) = {d for d in only(session).doables if d.step == code and d.role in {"in_hand", "test"}}
        return doable.spotters

    if book.rules.steps[code].asks_clearance:
        decide(coach, athlete, code, "entrance", clearance="spotted")
    assert hands() == 2
    tried = log(coach, athlete, code, assistance="spot")
    assert hands() == 1
    void_attempt(by=coach, attempt=tried, reason="wrong athlete")
    assert hands() == 2


def test_without_consent_nothing_turns_over_and_without_consent_to_a_hand_nothing_takes_one(coach, book):
    minor = make_athlete(coach.gym, "Mia Okafor", birth_on=years_before_today(12))
    reach(coach, minor, "pullover-3a")
    coach.gym.asks_consent = True
    coach.gym.save()
    session = start_class(coach, minor, focus="pullover-3a")
    found = crowd(session)
    assert not any(doable.inverted or doable.spotters for doable in found.people[0].doables)
    (left,) = found.left_out
    assert "pullover-3a" in left.stopped
    assert len(left.lacking) == 2
    make_consent(minor, by=coach, kind="inversion")
    assert not any(doable.spotters for doable in only(session).doables)
    make_consent(minor, by=coach, kind="spotting")
    again = crowd(session)
    assert any(doable.inverted for doable in again.people[0].doables)
    assert again.left_out == ()


def test_heights_are_measured_estimated_or_not_known(coach, book, athlete):
    session = start_class(coach, athlete)
    assert only(session).chest is None
    make_measured(athlete, "1.700")
    estimated = only(session).chest
    assert not estimated.measured
    BodyMeasure.objects.create(gym=coach.gym, athlete=athlete, measured_on=date(2026, 5, 25), chest_m="1.260")
    assert (only(session).chest.mm, only(session).chest.measured) == (1260, True)
    # What no body has is not set by; its page asks for it anew.
    BodyMeasure.objects.create(gym=coach.gym, athlete=athlete, measured_on=date(2026, 5, 26), stature_m="9.000")
    assert only(session).chest is None


def test_who_was_erased_is_in_no_crowd(coach, book, athlete):
    session = start_class(coach, athlete)
    Person.objects.filter(pk=athlete.person_id).update(erased_at=timezone.now() - timedelta(hours=1))
    assert crowd(session).people == ()


def test_a_crowd_costs_as_many_queries_for_many_as_for_one(coach, book, django_assert_num_queries):
    people = [make_athlete(coach.gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl")]
    for athlete in people:
        meet(coach, athlete, "pullover-1", days_ago=2)
    for there in (people[:1], people):
        session = start_class(coach, *there)
        with django_assert_num_queries(13):
            crowd_of(book, session, timezone.now())
