"""Planning a class and planning it again: what is kept, what counts of what is over, what is refused."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.utils import timezone

from athletes.models import AuditEntry
from skills.core.class_shape import Shape, Words
from skills.core.rotation.asks import Apart, Pin
from skills.core.rotation.checking import broken_rules
from skills.models import ClassPlan
from skills.queries.class_asks import class_ask, words_of
from skills.queries.kept_plans import last_shape_of
from skills.services import class_plans
from skills.services.class_plans import NobodyToPlanError, PlannedMeanwhileError, ShapeRefusedError, plan_class
from skills.services.planning import ClashingRulesError, planned
from skills.services.sessions import SessionEndedError, choose_step, end_session, mark_present, unmark_present
from tests.factories.athletes import make_athlete
from tests.factories.bars import check_hole
from tests.factories.class_plans import SHORT, make_hall, make_measured, make_plan, plans_of
from tests.factories.skills import library, reach, start_class, step_of

THREE = Shape(minutes=46, warm_up_minutes=10, rotation_minutes=12)


@pytest.fixture(autouse=True)
def _in_the_afternoon():
    """Far from midnight, which parts one day's checks from the next one's."""
    with time_machine.travel(datetime(2026, 6, 1, 15, 0, tzinfo=UTC)):
        yield


@pytest.fixture
def athletes(coach):
    library(coach.gym)
    found = [make_athlete(coach.gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl", "Dev Eze")]
    for athlete in found:
        make_measured(athlete)
    return found


@pytest.fixture
def hall(gym):
    return make_hall(gym)


@pytest.fixture
def session(coach, athletes, hall):
    return start_class(coach, *athletes)


def sound(session):
    """The plans of a class, of which each keeps every rule that was asked."""
    whole = plans_of(session)
    for kept in whole.plans:
        assert not broken_rules(kept.ask, kept.plan)
    return whole


def station_of(whole, athlete, rotation):
    return next((seat.station for seat in whole.seats(rotation) if seat.person == str(athlete.id)), None)


def test_a_class_is_planned_and_the_plan_kept(coach, session):
    row = plan_class(by=coach, session=session, shape=SHORT)
    whole = sound(session)
    assert (row.number, row.first_rotation, row.rotations, whole.rotations) == (1, 0, 2, 2)
    assert [len(whole.seats(rotation)) for rotation in range(2)] == [4, 4]
    assert AuditEntry.objects.filter(act="class_planned").count() == 1
    assert "Ada" not in row.asked + row.planned
    assert last_shape_of(session) == row


def test_the_same_class_gives_the_same_bytes(coach, session):
    first = plan_class(by=coach, session=session, shape=SHORT)
    second = plan_class(by=coach, session=session, shape=SHORT, keep=False)
    assert (first.asked, first.planned) == (second.asked, second.planned)
    assert (first.number, second.number) == (1, 2)


def test_a_pin_holds_and_the_others_move_little(coach, session, athletes, hall):
    plan_class(by=coach, session=session, shape=SHORT)
    before = plans_of(session)
    ada = athletes[0]
    goes_to = next(
        str(hall[name].id) for name in ("floor", "rings") if str(hall[name].id) != station_of(before, ada, 1)
    )
    plan_class(by=coach, session=session, shape=SHORT, words=Words(pins=(Pin(str(ada.id), 1, goes_to),)))
    after = sound(session)
    assert station_of(after, ada, 1) == goes_to
    others = [(a, r) for a in athletes for r in range(2) if (a, r) != (ada, 1)]
    moved = [pair for pair in others if station_of(after, *pair) != station_of(before, *pair)]
    assert len(moved) <= 1
    assert words_of(after).pins == (Pin(str(ada.id), 1, goes_to),)


def test_two_kept_apart_never_meet(coach, session, athletes):
    one, other = sorted((str(athletes[0].id), str(athletes[1].id)))
    plan_class(by=coach, session=session, shape=THREE, words=Words(apart=(Apart(one, other),)))
    whole = sound(session)
    for rotation in range(3):
        at = {seat.person: seat.station for seat in whole.seats(rotation)}
        assert at.get(one) != at.get(other) or at.get(one) is None


def test_planned_again_from_the_next_rotation_with_who_is_here_now(coach, session, athletes):
    plan_class(by=coach, session=session, shape=THREE)
    before = plans_of(session)
    unmark_present(by=coach, session=session, athlete=athletes[3])
    late = make_athlete(coach.gym, "Eva Falk")
    make_measured(late)
    mark_present(by=coach, session=session, athlete=late)
    row = plan_class(by=coach, session=session, shape=THREE, first_rotation=1)
    whole = sound(session)
    assert (row.number, row.first_rotation, row.rotations) == (2, 1, 3)
    assert whole.seats(0) == before.seats(0)  # what is over stays as it was
    for rotation in (1, 2):
        there = {seat.person for seat in whole.seats(rotation)} | {*whole.idle(rotation)}
        assert str(athletes[3].id) not in there
        assert str(late.id) in there
    moved = [
        (athlete, rotation)
        for athlete in athletes[:3]
        for rotation in (1, 2)
        if station_of(whole, athlete, rotation) != station_of(before, athlete, rotation)
    ]
    assert len(moved) <= 1


def test_what_was_had_before_counts(coach, session, athletes):
    plan_class(by=coach, session=session, shape=THREE)
    before = plans_of(session)
    plan_class(by=coach, session=session, shape=THREE, first_rotation=2)
    ask = plans_of(session).last.ask
    assert ask.rotations == 1
    for person in ask.people:
        had = [seat for rotation in range(2) for seat in before.seats(rotation) if seat.person == person.key]
        idled = sum(person.key in before.idle(rotation) for rotation in range(2))
        assert sum(times for _, times in person.had) == len(had)
        assert person.idled == idled
    assert len(ask.before) == len(before.seats(2))


def test_words_of_who_went_are_let_go(coach, session, athletes, hall):
    gone, floor = str(athletes[3].id), str(hall["floor"].id)
    words = Words((Pin(gone, 2, floor), Pin(str(athletes[0].id), 2, floor)), (Apart(str(athletes[0].id), gone),))
    unmark_present(by=coach, session=session, athlete=athletes[3])
    row = plan_class(by=coach, session=session, shape=THREE, words=words)
    assert words_of(sound(session)) == Words((Pin(str(athletes[0].id), 2, floor),))
    assert row.number == 1


def test_what_clashes_is_named_and_nothing_kept(coach, session, athletes, hall):
    high = str(hall["high"].id)
    words = Words(tuple(Pin(str(athlete.id), 0, high) for athlete in athletes[:3]))  # two fit
    with pytest.raises(ClashingRulesError) as caught:
        plan_class(by=coach, session=session, shape=SHORT, words=words)
    assert caught.value.clash.rules == words.pins
    assert not ClassPlan.objects.exists()


@pytest.mark.parametrize(
    ("shape", "fields"),
    [
        (replace(SHORT, minutes=12), ["minutes"]),
        (replace(SHORT, minutes=500), ["minutes", "rotation_minutes"]),
        (replace(SHORT, rotation_minutes=2), ["rotation_minutes", "rotation_minutes", "reset_minutes"]),
        (replace(SHORT, warm_up_minutes=-1), ["warm_up_minutes"]),
        (replace(SHORT, reset_minutes=15), ["reset_minutes"]),
        (replace(SHORT, coaches=0, judges=0), ["coaches"]),
        (replace(SHORT, judges=2), ["judges"]),
        (replace(SHORT, most_resets=-1), ["most_resets"]),
    ],
)
def test_lengths_that_cannot_be_are_refused(coach, session, shape, fields):
    with pytest.raises(ShapeRefusedError) as caught:
        plan_class(by=coach, session=session, shape=shape)
    assert [problem.field for problem in caught.value.problems] == fields
    assert not ClassPlan.objects.exists()


def test_a_class_that_has_ended_is_not_planned(coach, session):
    end_session(by=coach, session=session)
    session.refresh_from_db()
    with pytest.raises(SessionEndedError):
        plan_class(by=coach, session=session, shape=SHORT)


def test_nobody_and_nowhere_are_said(coach, athletes):
    with pytest.raises(NobodyToPlanError, match="who is here"):
        plan_class(by=coach, session=start_class(coach), shape=SHORT)
    with pytest.raises(NobodyToPlanError, match="No station"):
        plan_class(by=coach, session=start_class(coach, *athletes), shape=SHORT)


def test_a_plan_that_somebody_else_made_meanwhile_stands(coach, owner, session, monkeypatch):
    with pytest.raises(PlannedMeanwhileError):
        plan_class(by=coach, session=session, shape=SHORT, seen=3)

    solve = planned

    def meanwhile(ask):
        make_plan(owner, session)
        return solve(ask)

    monkeypatch.setattr(class_plans, "planned", meanwhile)
    with pytest.raises(PlannedMeanwhileError):
        plan_class(by=coach, session=session, shape=SHORT, seen=0)
    assert ClassPlan.objects.get(session=session).made_by == owner


def test_a_class_that_ends_while_it_is_planned_gets_no_plan(coach, session, monkeypatch):
    solve = planned

    def meanwhile(ask):
        end_session(by=coach, session=session)
        return solve(ask)

    monkeypatch.setattr(class_plans, "planned", meanwhile)
    with pytest.raises(SessionEndedError):
        plan_class(by=coach, session=session, shape=SHORT)
    assert not ClassPlan.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_nothing_is_locked_while_it_is_solved(coach, session, monkeypatch):
    solve, inside = planned, []

    def looking(ask):
        inside.append(connection.in_atomic_block)
        return solve(ask)

    monkeypatch.setattr(class_plans, "planned", looking)
    plan_class(by=coach, session=session, shape=SHORT)
    assert inside == [False]


def test_a_plan_that_is_written_otherwise_is_passed_over(coach, session, caplog):
    old = make_plan(coach, session)
    unread = replace_text(old, asked='{"people":[]}')
    assert plans_of(session).plans[-1].row == old
    assert "cannot be read" in caplog.text
    row = plan_class(by=coach, session=session, shape=SHORT)
    assert (unread.number, row.number) == (2, 3)
    assert [kept.row.number for kept in sound(session).plans] == [1, 3]


def replace_text(plan, **text):
    """A further plan of the class with other words in it."""
    columns = {field.attname: getattr(plan, field.attname) for field in plan._meta.concrete_fields}
    del columns["id"]
    return ClassPlan.objects.create(**{**columns, "number": plan.number + 1, **text})


# ---- Bars ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def low_class(coach, athletes, hall):
    """Ada has the turn over the low bar in hand."""
    reach(coach, athletes[0], "pullover-6")
    return start_class(coach, *athletes, focus="pullover-6")


def hole_of(session, hall, first=0, **kept):
    asked = class_ask(session, THREE, Words(), timezone.now(), first=first, **kept)
    return asked.ask.station[str(hall["low"].id)].hole


def test_a_bar_stands_where_it_was_checked_today(coach, low_class, hall):
    assert hole_of(low_class, hall) is None
    check_hole(coach, hall["low"].bar, 7)
    assert hole_of(low_class, hall) == 7


def test_a_bar_stands_where_the_plan_left_it_until_a_later_check_says_otherwise(coach, low_class, hall):
    check_hole(coach, hall["low"].bar, 7, at=timezone.now() - timedelta(minutes=5))
    plan_class(by=coach, session=low_class, shape=THREE)
    whole = sound(low_class)
    left = whole.hole(0, str(hall["low"].id))
    assert left not in {None, 7}
    assert hole_of(low_class, hall, first=1, whole=whole) == left
    with time_machine.travel(timezone.now() + timedelta(minutes=5)):
        check_hole(coach, hall["low"].bar, 9)
        assert hole_of(low_class, hall, first=1, whole=whole) == 9
        assert hole_of(low_class, hall, whole=whole) == 9


def test_the_step_that_a_coach_chose_is_the_one_in_hand(coach, low_class, athletes, hall):
    attendance = low_class.attendances.get(athlete=athletes[0])
    choose_step(by=coach, attendance=attendance, step=step_of(coach.gym, "pullover-2"))
    ask = class_ask(low_class, THREE, Words(), timezone.now()).ask
    roles = {choice.role: choice.step for choice in ask.person[str(athletes[0].id)].choices}
    assert roles["in_hand"] == "pullover-2"
