"""Correcting an attempt: one void and one entry, one tally, one chain."""

from dataclasses import replace
from uuid import UUID

import pytest
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, Caution, Gym, Membership, Remark
from athletes.services.audit import first_broken_link
from gymtrack.lib.ids import new_id
from skills.core.entries import Mistake
from skills.core.month import Month
from skills.models import Attempt, AttemptVoid
from skills.queries.books import book_of
from skills.queries.months import month_report
from skills.queries.standings import standing_at
from skills.services.attempts import AlreadyVoidError, AttemptRefusedError, IdTakenError, Logged, void_attempt
from skills.services.corrections import MENDED, MOVED, Vouching, mend_attempt, move_attempt, result_of
from skills.services.readiness import rebuild_athlete
from tests.factories.skills import library, log, meet, reach, start_class
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def _mend(by: Membership, attempt: Attempt, *faults: str, new: UUID | None = None) -> Logged:
    result = replace(result_of(attempt), faults=faults)
    return mend_attempt(by=by, attempt=attempt, new_id=new or new_id(), result=result)


def test_a_fault_seen_late_takes_the_place_of_the_clean_hold(
    coach: Membership, coach_two: Membership, athlete: Athlete
) -> None:
    session = start_class(coach, athlete)
    said = {"assistance": "band", "effort": 6, "note": "Left hand slips", "reps": 2}
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session, **said)
    mended = _mend(coach_two, attempt, "shoulders-close").attempt
    assert Attempt.objects.filter(void=None).get() == mended
    assert replace(result_of(mended), faults=()) == result_of(attempt)
    assert mended.faults == ["shoulders-close"]
    kept = ("happened_at", "session", "step", "athlete", "source", "closed_try")
    assert all(getattr(mended, name) == getattr(attempt, name) for name in kept)
    assert (attempt.logged_by, mended.logged_by, attempt.void.voided_by) == (coach, coach_two, coach_two)
    assert set(Remark.objects.values_list("about", "text")) == {
        (attempt.id, "Left hand slips"),
        (attempt.id, MENDED),
        (mended.id, "Left hand slips"),
    }


def test_an_own_entry_never_becomes_one_that_a_coach_judged(coach: Membership, athlete: Athlete) -> None:
    own = log(coach, athlete, "pullover-1", 5.0, source="own")
    result = replace(result_of(own), faults=())
    with pytest.raises(AttemptRefusedError, match="An own entry stays one"):
        mend_attempt(by=coach, attempt=own, new_id=new_id(), result=result, vouching=Vouching(Attempt.Source.JUDGED))
    assert not AttemptVoid.objects.exists()
    mended = mend_attempt(by=coach, attempt=own, new_id=new_id(), result=result, vouching=Vouching(Attempt.Source.OWN))
    assert mended.attempt.source == "own"


def test_a_mend_settles_readiness_as_a_rebuild_would(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    *_, last = meet(coach, athlete, "pullover-1")
    assert standing_now(athlete, "pullover-1").state == "passed"
    mended = _mend(coach, last, "shoulders-close")
    assert mended.standing.state == "working"
    assert standing_now(athlete, "pullover-2").flags == ("prerequisite_fell",)
    assert _mend(coach, mended.attempt).standing.state == "passed"
    book = book_of(Gym.objects.get(pk=gym.pk))
    assert rebuild_athlete(book=book, athlete=athlete, now=last.recorded_at, store=False) == ()


def test_the_same_mend_twice_is_one(coach: Membership, athlete: Athlete) -> None:
    attempt, new = log(coach, athlete, "pullover-1", 5.2), new_id()
    first = _mend(coach, attempt, "shoulders-close", new=new)
    second = _mend(coach, attempt, "shoulders-close", new=new)
    assert (first.created, second.created) == (True, False)
    assert second.attempt == first.attempt
    assert second.standing == first.standing
    assert (Attempt.objects.count(), AttemptVoid.objects.count()) == (2, 1)
    with pytest.raises(IdTakenError):
        _mend(coach, attempt, "swings-in", new=new)


def test_what_was_taken_back_or_mended_before_is_mended_no_more(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.2)
    _mend(coach, attempt, "shoulders-close")
    with pytest.raises(AlreadyVoidError):
        _mend(coach, attempt, "swings-in")
    assert Attempt.objects.filter(void=None).get().faults == ["shoulders-close"]


def test_a_mend_with_a_word_that_the_step_has_not_changes_nothing(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.2)
    with pytest.raises(AttemptRefusedError) as caught:
        _mend(coach, attempt, "no-such")
    assert caught.value.mistakes == (Mistake("faults", "This step has no fault 'no-such'."),)
    assert (Attempt.objects.count(), AttemptVoid.objects.count()) == (1, 0)


def test_a_mended_try_that_hurt_lays_no_second_caution(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.2, pain=True)
    assert _mend(coach, attempt, "shoulders-close").attempt.pain
    assert Caution.objects.count() == 1


def test_a_mend_is_two_links_of_one_chain(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.2)
    mended = _mend(coach, attempt, "shoulders-close").attempt
    acts = AuditEntry.objects.filter(gym=gym, about__in=(attempt.id, mended.id)).values_list("act", "about")
    assert list(acts) == [
        ("attempt_logged", attempt.id),
        ("attempt_voided", attempt.id),
        ("attempt_logged", mended.id),
    ]
    assert first_broken_link(gym) is None


def test_an_attempt_for_the_wrong_athlete_is_moved_with_all_it_says(
    coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.2, faults=("shoulders-close",), assistance="band")
    moved = _move(coach, attempt, minor).attempt
    assert Attempt.objects.filter(void=None).get() == moved
    assert result_of(moved) == result_of(attempt)
    assert (moved.athlete, moved.happened_at) == (minor, attempt.happened_at)
    assert Remark.objects.get(about=attempt.id).text == MOVED


def _move(by: Membership, attempt: Attempt, athlete: Athlete, new: UUID | None = None, reason: str = "") -> Logged:
    return move_attempt(
        by=by, attempt=attempt, new_id=new or new_id(), athlete=athlete, step_id=attempt.step_id, closed_reason=reason
    )


def test_a_move_settles_both(coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    *_, last = meet(coach, athlete, "pullover-1")
    log(coach, minor, "pullover-1", 5.0, reps=2, days_ago=1)
    assert _move(coach, last, minor).standing.state == "passed"
    assert standing_now(athlete, "pullover-1").state == "working"


def test_the_same_move_twice_is_one(coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    attempt, new = log(coach, athlete, "pullover-1", 5.2), new_id()
    assert [_move(coach, attempt, minor, new).created for _ in range(2)] == [True, False]
    assert (Attempt.objects.count(), AttemptVoid.objects.count()) == (2, 1)
    with pytest.raises(AlreadyVoidError):
        _move(coach, Attempt.objects.get(pk=attempt.pk), minor)


def test_a_move_to_a_closed_step_asks_for_the_reason_and_changes_nothing_before(
    coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    reach(coach, athlete, "pullover-2")
    attempt = log(coach, athlete, "pullover-2", 5.2)
    with pytest.raises(AttemptRefusedError) as caught:
        _move(coach, attempt, minor)
    assert [mistake.field for mistake in caught.value.mistakes] == ["closed_reason"]
    assert not AttemptVoid.objects.exists()
    moved = _move(coach, attempt, minor, reason="Shown elsewhere").attempt
    assert moved.closed_try
    assert standing_now(minor, "pullover-2").base == "closed"


def test_a_move_to_the_same_athlete_is_none(coach: Membership, athlete: Athlete) -> None:
    with pytest.raises(AttemptRefusedError):
        _move(coach, log(coach, athlete, "pullover-1", 5.2), athlete)


def test_corrected_tries_are_counted_once_in_the_month(coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    mended = _mend(coach, log(coach, athlete, "pullover-1", 5.2), "shoulders-close").attempt
    _move(coach, log(coach, athlete, "pullover-1", 6.0), minor)
    void_attempt(by=coach, attempt=log(coach, athlete, "pullover-1", 9.9), reason="wrong time")
    today = timezone.now().astimezone(athlete.gym.zone)
    found = month_report(athlete.gym, Month(today.year, today.month)).gym.figures.counts
    assert (found.attempts, found.clean_attempts, found.hold_tenths) == (2, 1, 52 + 60)
    progress = standing_at(book_of(athlete.gym), athlete, "pullover-1", timezone.now()).progress
    assert progress[0].have == 0
    assert mended.faults == ["shoulders-close"]
