"""Running a class by its plan: marks are kept once, move what follows, and put the rotation's step into hands."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import DatabaseError, connection
from django.test.utils import CaptureQueriesContext

from athletes.models import AuditEntry
from gymtrack.lib.ids import new_id
from skills.core.rotation_clock import Turn
from skills.models import RotationMark, WorkPlace
from skills.queries.boards import board_of
from skills.queries.books import book_of
from skills.queries.class_runs import ClassRun, run_of
from skills.services.class_runs import MarkIdTakenError, NoSuchRotationError, NotPlannedError, mark_rotation
from skills.services.sessions import SessionEndedError, choose_step, end_session, mark_present
from tests.factories.athletes import make_athlete
from tests.factories.class_plans import make_hall
from tests.factories.class_runs import keep_plan
from tests.factories.skills import library, start_class, step_of

NOON = datetime(2026, 5, 20, 10, 0, tzinfo=UTC)


@pytest.fixture
def at_noon():
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def class_(at_noon, coach, athlete):
    """Ada and Bo with three rotations of ten minutes after five; Bo is idle in the second one."""
    library(coach.gym)
    bo = make_athlete(coach.gym, "Bo Chen")
    session = start_class(coach, athlete, bo)
    places = make_hall(coach.gym)
    keep_plan(
        coach,
        session,
        {
            athlete: [("pullover-1", "floor", None), ("pullover-2", "low", 7), ("pullover-1", "rings", None)],
            bo: [("pullover-1", "low", 5), None, ("pullover-1", "low", 9)],
        },
        places,
    )
    return session


def _run(session) -> ClassRun:
    run = run_of(session, datetime.now(UTC))
    assert run
    return run


def _in_hand(session):
    tiles = board_of(book_of(session.gym), session, datetime.now(UTC))
    return [tile.in_hand.page.code if tile.in_hand.page else "" for tile in tiles]


@pytest.mark.django_db
def test_a_class_follows_its_plan_by_itself(class_, at_noon, athlete):
    turns = []
    for minutes in (0, 5, 15, 25, 35):
        at_noon.move_to(NOON + timedelta(minutes=minutes))
        run = _run(class_)
        doing = run.doings(run.shown).get(str(athlete.id))
        turns.append((run.clock.rotation, doing and (doing.step, doing.place.name, doing.hole)))
    assert turns == [
        (-1, ("pullover-1", "floor", None)),
        (0, ("pullover-1", "floor", None)),
        (1, ("pullover-2", "low bar", 7)),
        (2, ("pullover-1", "rings", None)),
        (3, None),
    ]


@pytest.mark.django_db
def test_a_bar_is_re_set_before_the_rotation_in_which_it_is_used(class_):
    run = _run(class_)
    told = [[(each.place.name, each.before, each.hole) for each in run.resets(rotation)] for rotation in range(3)]
    assert told == [[("low bar", None, 5)], [("low bar", 5, 7)], [("low bar", 7, 9)]]
    assert run.resets(3) == ()


@pytest.mark.django_db
def test_a_skip_is_kept_once_and_moves_what_follows(class_, coach, at_noon):
    at_noon.move_to(NOON + timedelta(minutes=8))
    key = new_id()
    mark = mark_rotation(by=coach, session=class_, rotation=1, mark_id=key)
    assert mark.skipped
    at_noon.move_to(NOON + timedelta(minutes=9))
    assert mark_rotation(by=coach, session=class_, rotation=1, mark_id=key) == mark
    assert RotationMark.objects.count() == 1
    assert AuditEntry.objects.filter(act="rotation_marked").count() == 1
    clock = _run(class_).clock
    assert (clock.rotation, clock.next) == (1, Turn(NOON + timedelta(minutes=18), 2))


@pytest.mark.django_db
def test_starting_the_first_rotation_in_the_warm_up_or_going_back_cuts_nothing_short(class_, coach, at_noon):
    assert not mark_rotation(by=coach, session=class_, rotation=0).skipped
    at_noon.move_to(NOON + timedelta(minutes=12))
    assert _run(class_).clock.rotation == 1
    assert not mark_rotation(by=coach, session=class_, rotation=0).skipped
    assert _run(class_).clock.rotation == 0


@pytest.mark.django_db
def test_another_warm_up_in_a_later_plan_moves_nothing_that_has_begun(class_, coach, athlete, at_noon):
    at_noon.move_to(NOON + timedelta(minutes=8))
    hall = {place.kind.split("_")[0]: place for place in WorkPlace.objects.filter(gym=coach.gym)}
    rest = {athlete: [("pullover-1", "floor", None), ("pullover-1", "rings", None)]}
    keep_plan(coach, class_, rest, hall, warm_up=20, minutes=7, first_rotation=1)
    clock = _run(class_).clock
    assert clock.rotation == 0
    assert [turn.at for turn in clock.turns] == [NOON + timedelta(minutes=each) for each in (5, 15, 22, 29)]


@pytest.mark.django_db
def test_what_cannot_be_marked_is_refused(class_, coach, athlete):
    for rotation in (-1, 4):
        with pytest.raises(NoSuchRotationError, match="The plan has 3 rotations"):
            mark_rotation(by=coach, session=class_, rotation=rotation)
    mark = mark_rotation(by=coach, session=class_, rotation=3)
    other = start_class(coach, athlete)
    with pytest.raises(NotPlannedError):
        mark_rotation(by=coach, session=other, rotation=0)
    with pytest.raises(MarkIdTakenError):
        mark_rotation(by=coach, session=other, rotation=0, mark_id=mark.id)
    end_session(by=coach, session=class_)
    with pytest.raises(SessionEndedError):
        mark_rotation(by=coach, session=class_, rotation=0)
    assert RotationMark.objects.count() == 1


@pytest.mark.django_db
def test_a_mark_that_was_made_before_the_end_still_counts(class_, coach, at_noon):
    at_noon.move_to(NOON + timedelta(minutes=20))
    end_session(by=coach, session=class_)
    mark = mark_rotation(by=coach, session=class_, rotation=2, happened_at=NOON + timedelta(minutes=18))
    assert (mark.rotation, mark.skipped) == (2, True)


@pytest.mark.django_db
def test_the_step_in_hand_is_the_rotations_and_a_coachs_choice_lasts_until_the_next(class_, coach, athlete, at_noon):
    chosen = class_.attendances.get(athlete=athlete)
    choose_step(by=coach, attendance=chosen, step=step_of(coach.gym, "l-hold-1"))  # in the warm-up
    assert _in_hand(class_)[0] == "l-hold-1"
    at_noon.move_to(NOON + timedelta(minutes=6))
    assert _in_hand(class_) == ["pullover-1", "pullover-1"]
    choose_step(by=coach, attendance=chosen, step=step_of(coach.gym, "l-hold-1"))
    assert _in_hand(class_) == ["l-hold-1", "pullover-1"]
    at_noon.move_to(NOON + timedelta(minutes=16))
    assert _in_hand(class_)[0] == "pullover-2"
    at_noon.move_to(NOON + timedelta(minutes=40))
    assert _in_hand(class_)[0] == "l-hold-1"  # the plan is over


@pytest.mark.django_db
def test_a_plan_costs_a_board_as_many_queries_for_many_as_for_one(class_, coach):
    counts = []
    for many in (0, 4):
        for place in range(many):
            mark_present(by=coach, session=class_, athlete=make_athlete(coach.gym, f"Cara Dahl {place}"))
        with CaptureQueriesContext(connection) as seen:
            board_of(book_of(class_.gym), class_, datetime.now(UTC))
        counts.append(len(seen))
    assert counts[0] == counts[1]


@pytest.mark.django_db(transaction=True)
def test_a_mark_is_never_changed_or_deleted(class_, coach):
    mark = mark_rotation(by=coach, session=class_, rotation=1)
    with pytest.raises(DatabaseError, match="append-only"):
        RotationMark.objects.filter(pk=mark.pk).update(rotation=2)
    with pytest.raises(DatabaseError, match="append-only"):
        RotationMark.objects.filter(pk=mark.pk)._raw_delete("default")
    assert RotationMark.objects.get() == mark
