"""Logging and voiding attempts: what is stored, what is refused, and what follows."""

from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, AuditEntry, Caution, Gym, Membership, Remark
from athletes.services.audit import first_broken_link
from athletes.services.remarks import commitment
from skills.core import criteria
from skills.core.entries import Mistake
from skills.models import Attempt, AttemptVoid, CriterionVersion, Opening, StepTimeline
from skills.queries.books import book_of
from skills.queries.histories import histories_of
from skills.queries.standings import standing_at
from skills.services.attempts import (
    AlreadyVoidError,
    AttemptRefusedError,
    IdTakenError,
    log_attempt,
    void_attempt,
)
from skills.services.library import touch_rules
from skills.services.sessions import end_session, start_session
from tests.factories.athletes import make_athlete
from tests.factories.skills import (
    check_bar_on,
    decide,
    entry_of,
    library,
    log,
    measure_angle,
    meet,
    page_of,
    reach,
    step_of,
)
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def _mistakes(by: Membership, entry: object) -> tuple[Mistake, ...]:
    with pytest.raises(AttemptRefusedError) as caught:
        log_attempt(by=by, entry=entry)  # type: ignore[arg-type]
    return caught.value.mistakes


def test_three_clean_holds_pass_the_step_and_open_the_next_ones(coach: Membership, athlete: Athlete) -> None:
    log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    logged = log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=5.1, days_ago=1))
    assert logged.standing.state == "passed"
    assert logged.settled.opened == ("pullover-2", "pullover-3", "toes-2")
    opened = Opening.objects.filter(athlete=athlete).values_list("happened_at", flat=True)
    assert set(opened) == {logged.attempt.happened_at}


def test_a_tablet_whose_clock_is_ahead_opens_the_next_steps_all_the_same(coach: Membership, athlete: Athlete) -> None:
    log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    ahead = timezone.now() + timedelta(minutes=4)
    logged = log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=5.1, at=ahead))
    assert logged.settled.opened == ("pullover-2", "pullover-3", "toes-2")
    with time_machine.travel(ahead, tick=False):
        assert standing_now(athlete, "pullover-3").state == "working"


def test_a_hold_of_19_9_s_is_not_one_of_20_s(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    """The full standard of three holds of 20 s; common practice, no source."""
    tree = criteria.canonical(criteria.parse({"holds": {"count": 3, "seconds": 20, "dates": 2}}))
    step = step_of(gym, "pullover-1")
    CriterionVersion.objects.create(
        gym=gym, step=step, number=2, tree=tree, happened_at=timezone.now() - timedelta(days=60), adopted_by=coach
    )
    touch_rules(gym)
    log(coach, athlete, "pullover-1", 20.0, days_ago=3)
    log(coach, athlete, "pullover-1", 20.0, days_ago=2)
    assert log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=19.9)).standing.state == "working"
    assert log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=20.0)).standing.state == "passed"


def test_the_inverted_hang_stays_closed_without_a_coachs_clearance(coach: Membership, athlete: Athlete) -> None:
    meet(coach, athlete, "pullover-1", days_ago=4)
    meet(coach, athlete, "pullover-3", days_ago=1)
    assert standing_now(athlete, "pullover-3").state == "passed"
    assert standing_now(athlete, "pullover-3a").state == "closed"
    assert not Opening.objects.filter(athlete=athlete, step=step_of(athlete.gym, "pullover-3a")).exists()


def test_the_same_id_twice_is_one_attempt(coach: Membership, athlete: Athlete) -> None:
    entry = entry_of(athlete, "pullover-1", seconds=5.0)
    first, second = log_attempt(by=coach, entry=entry), log_attempt(by=coach, entry=entry)
    assert (first.created, second.created) == (True, False)
    assert second.attempt == first.attempt
    assert second.standing == first.standing
    assert Attempt.objects.count() == 1


def test_an_id_with_other_content_is_refused_and_changes_nothing(
    coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    entry = entry_of(athlete, "pullover-1", seconds=5.0)
    log_attempt(by=coach, entry=entry)
    longer = replace(entry, result=replace(entry.result, hold_tenths=51))
    for other in (longer, replace(entry, athlete_id=minor.id), replace(entry, source=Attempt.Source.COUNTED)):
        with pytest.raises(IdTakenError):
            log_attempt(by=coach, entry=other)
    assert [attempt.hold_tenths for attempt in Attempt.objects.all()] == [50]


def test_an_id_of_another_gym_is_refused_without_telling_whose(
    coach: Membership, other_coach: Membership, athlete: Athlete, other_gym: Gym
) -> None:
    library(other_gym, None)
    entry = entry_of(athlete, "pullover-1", seconds=5.0)
    log_attempt(by=coach, entry=entry)
    theirs = entry_of(make_athlete(other_gym, "Noor Haddad"), "pullover-1", seconds=5.0, attempt_id=entry.id)
    with pytest.raises(IdTakenError):
        log_attempt(by=other_coach, entry=theirs)


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"seconds": 5400.0}, "hold_tenths", "one hour"),
        ({"seconds": None}, "hold_tenths", "enter the seconds"),
        ({"seconds": 5.0, "reps": 0}, "reps", "from 1 to 500"),
        ({"seconds": 5.0, "reps": -3}, "reps", "from 1 to 500"),
        ({"seconds": 5.0, "effort": 11}, "effort", "from 0 to 10"),
        ({"seconds": 5.0, "grade": 1}, "grade", "0 grades"),
        ({"seconds": 5.0, "faults": ("no-such",)}, "faults", "no fault 'no-such'"),
        ({"seconds": 5.0, "missed": ("no-such",)}, "missed", "no checkpoint 'no-such'"),
        ({"seconds": 5.0, "variant": "no-such"}, "variant", "no variant 'no-such'"),
        ({"seconds": 5.0, "assistance": "rocket"}, "assistance", "none, band"),
        ({"seconds": 5.0, "days_ago": -1}, "happened_at", "in the future"),
        ({"seconds": 5.0, "days_ago": 400}, "happened_at", "more than a year old"),
    ],
)
def test_bad_figures_are_refused_in_words(
    coach: Membership, athlete: Athlete, change: dict[str, object], field: str, words: str
) -> None:
    (mistake,) = _mistakes(coach, entry_of(athlete, "pullover-1", **change))  # type: ignore[arg-type]
    assert mistake.field == field
    assert words in mistake.sentence
    assert not Attempt.objects.exists()


def test_an_angle_is_stored_where_the_step_says_which_one(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    measure_angle(gym, "pullover-1")
    attempt = log(coach, athlete, "pullover-1", 5.0, angle_degrees=90)
    assert Attempt.objects.get(pk=attempt.pk).angle_degrees == 90
    history = histories_of(book_of(gym), [athlete.id])[athlete.id]
    assert [fact.angle_degrees for fact in history.attempts] == [90]


@pytest.mark.parametrize(
    ("words", "degrees", "sentence"),
    [
        ("", 90, "No angle is measured at this step: leave the degrees out."),
        ("legs from straight down", 181, "An angle is a whole number of degrees from 0 to 180."),
        ("legs from straight down", -1, "An angle is a whole number of degrees from 0 to 180."),
    ],
)
def test_an_angle_that_cannot_be_is_refused(
    coach: Membership, athlete: Athlete, words: str, degrees: int, sentence: str
) -> None:
    measure_angle(athlete.gym, "pullover-1", words)
    entry = entry_of(athlete, "pullover-1", seconds=5.0, angle_degrees=degrees)
    assert _mistakes(coach, entry) == (Mistake("angle_degrees", sentence),)


def test_the_same_attempt_with_another_angle_is_another_content(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    measure_angle(gym, "pullover-1")
    entry = entry_of(athlete, "pullover-1", seconds=5.0, angle_degrees=90)
    assert [log_attempt(by=coach, entry=entry).created for _ in range(2)] == [True, False]
    with pytest.raises(IdTakenError):
        log_attempt(by=coach, entry=replace(entry, result=replace(entry.result, angle_degrees=91)))


def test_all_mistakes_are_named_at_once(coach: Membership, athlete: Athlete) -> None:
    entry = entry_of(athlete, "pullover-1", seconds=5.0, reps=0, effort=11, days_ago=-1)
    assert [mistake.field for mistake in _mistakes(coach, entry)] == ["reps", "effort", "happened_at"]


def test_an_athlete_of_another_gym_is_unknown(other_coach: Membership, athlete: Athlete, other_gym: Gym) -> None:
    library(other_gym, None)
    (mistake,) = _mistakes(other_coach, entry_of(athlete, "pullover-1", seconds=5.0))
    assert mistake == Mistake("athlete", "There is no such athlete in this gym.")


def test_a_session_that_ended_takes_what_happened_before_its_end(coach: Membership, athlete: Athlete) -> None:
    session = start_session(by=coach, name="Monday class")
    end_session(by=coach, session=session)
    session.refresh_from_db()
    assert session.ended_at is not None
    late = entry_of(
        athlete, "pullover-1", seconds=5.0, session=session, at=session.ended_at - timedelta(microseconds=1)
    )
    assert log_attempt(by=coach, entry=late).created
    after = entry_of(athlete, "pullover-1", seconds=5.0, session=session)
    assert [mistake.field for mistake in _mistakes(coach, after)] == ["session"]


def test_a_closed_step_is_tried_with_a_reason_and_never_counted(coach: Membership, athlete: Athlete) -> None:
    entry = entry_of(athlete, "pullover-2", seconds=6.0, days_ago=0.1)
    assert [mistake.field for mistake in _mistakes(coach, entry)] == ["closed_reason"]
    logged = log_attempt(by=coach, entry=replace(entry, closed_reason="shows it every week elsewhere"))
    assert logged.attempt.closed_try
    assert logged.standing.base == "closed"
    meet(coach, athlete, "pullover-1", days_ago=1)
    book = book_of(Gym.objects.get(pk=athlete.gym_id))
    assert standing_now(athlete, "pullover-2").base == "working"
    assert [p.have for p in standing_at(book, athlete, "pullover-2", timezone.now()).progress] == [0]


def test_only_a_coach_who_may_sign_off_tries_a_closed_step(coach_two: Membership, athlete: Athlete) -> None:
    (mistake,) = _mistakes(coach_two, entry_of(athlete, "pullover-2", seconds=6.0, closed_reason="wants to"))
    assert "may sign off" in mistake.sentence


def test_a_low_bar_step_waits_for_todays_check_by_name(coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-6")
    assert [m.field for m in _mistakes(coach, entry_of(athlete, "pullover-6", reps=1))] == ["step"]
    check_bar_on(coach, days_ago=1)
    assert [m.field for m in _mistakes(coach, entry_of(athlete, "pullover-6", reps=1))] == ["step"]
    check_bar_on(coach, days_ago=0)
    assert log_attempt(by=coach, entry=entry_of(athlete, "pullover-6", reps=1)).created


def test_pain_pauses_every_step_with_that_load_at_once(coach: Membership, athlete: Athlete) -> None:
    logged = log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=5.0, pain=True))
    assert logged.standing.state == "paused"
    assert Caution.objects.get().loads == ["hanging"]
    assert standing_now(athlete, "pull-up-1").state == "paused"
    (mistake,) = _mistakes(coach, entry_of(athlete, "pull-up-1", seconds=5.0))
    assert "caution" in mistake.sentence


def test_a_note_is_kept_apart_and_the_attempt_holds_its_commitment(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.0, note="chalk first")
    remark = Remark.objects.get(about=attempt.id)
    assert remark.subject == athlete.person
    assert attempt.remark_commitment == commitment(remark.salt, "chalk first")


def test_a_voided_attempt_never_happened_and_stays_in_the_history(coach: Membership, athlete: Athlete) -> None:
    *_, last = meet(coach, athlete, "pullover-1", days_ago=1)
    assert standing_now(athlete, "pullover-1").state == "passed"
    void_attempt(by=coach, attempt=last, reason="mis-tapped athlete")
    assert not StepTimeline.objects.filter(athlete=athlete, step=step_of(athlete.gym, "pullover-1")).exists()
    assert Attempt.objects.filter(pk=last.pk).exists()
    assert standing_now(athlete, "pullover-2").flags == ("prerequisite_fell",)


def test_a_void_needs_a_reason_and_is_made_once(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.0)
    with pytest.raises(AttemptRefusedError):
        void_attempt(by=coach, attempt=attempt, reason="  ")
    void_attempt(by=coach, attempt=attempt, reason="wrong time")
    with pytest.raises(AlreadyVoidError):
        void_attempt(by=coach, attempt=attempt, reason="wrong time")
    assert AttemptVoid.objects.count() == 1


def test_every_act_extends_the_audit_chain(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.0)
    void_attempt(by=coach, attempt=attempt, reason="wrong time")
    acts = AuditEntry.objects.filter(gym=gym, about=attempt.id).values_list("act", flat=True)
    assert list(acts) == ["attempt_logged", "attempt_voided"]
    assert first_broken_link(gym) is None


def test_a_refused_entry_leaves_no_trace(coach: Membership, athlete: Athlete, gym: Gym) -> None:
    entries = AuditEntry.objects.filter(gym=gym).count()
    _mistakes(coach, entry_of(athlete, "pullover-1", seconds=5.0, reps=0, note="typed"))
    assert (AuditEntry.objects.filter(gym=gym).count(), Remark.objects.count()) == (entries, 0)


@pytest.mark.parametrize("history", [0, 30])
def test_logging_costs_the_same_number_of_queries_whatever_the_history(
    coach: Membership, athlete: Athlete, django_assert_num_queries: DjangoAssertNumQueries, history: int
) -> None:
    for days in range(history):
        log(coach, athlete, "pullover-1", 4.0, days_ago=days / 10 + 1)
    page_of(athlete.gym, "pullover-1")
    entry = entry_of(athlete, "pullover-1", seconds=4.0)
    with django_assert_num_queries(15):
        log_attempt(by=coach, entry=entry)


def test_a_decision_comes_up_with_what_it_rests_on(coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    tries = meet(coach, athlete, "pullover-3a", days_ago=0)
    row = decide(coach, athlete, "pullover-3a")
    assert row.evidence == sorted(str(attempt.id) for attempt in tries)
