"""Athletes enter what they practise by themselves: marked as their own, counted only where a criterion says so."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone

from athletes.models import AuditEntry, Caution, Remark
from gymtrack.lib.ids import new_id
from skills.core import criteria
from skills.models import Attempt, CriterionVersion
from skills.services.attempts import (
    AlreadyVoidError,
    AttemptRefusedError,
    IdTakenError,
    NoRightError,
    NotThereError,
)
from skills.services.cautions import enter_caution
from skills.services.library import touch_rules
from skills.services.own_practice import OwnEntry, enter_own_practice, take_back_own_practice
from tests.factories.athletes import make_athlete, make_guardian, years_before_today
from tests.factories.skills import days_before_now, decide, library, log, meet, pass_step, reach, step_of
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def today(athlete):
    return timezone.localdate(timezone=athlete.gym.zone)


def own(athlete, code="pullover-1", *, days_ago=0, **more):
    said = {"sets": 3, "hold_tenths": 50} | more
    day = today(athlete) - timedelta(days=days_ago)
    return OwnEntry(id=new_id(), athlete_id=athlete.id, step_id=step_of(athlete.gym, code).id, practised_on=day, **said)


def sentences(by, entry):
    with pytest.raises(AttemptRefusedError) as caught:
        enter_own_practice(by=by, entry=entry)
    return [mistake.sentence for mistake in caught.value.mistakes]


def adopt(coach, code, tree):
    step = step_of(coach.gym, code)
    CriterionVersion.objects.create(
        gym=coach.gym,
        step=step,
        number=2,
        tree=criteria.canonical(criteria.parse(tree)),
        happened_at=days_before_now(60),
        adopted_by=coach,
    )
    touch_rules(coach.gym)


# ---- Whether it counts -------------------------------------------------------------------------------------------


def test_own_practice_is_stored_as_the_athletes_own_and_passes_nothing_by_itself(athlete, athlete_member):
    for days_ago in (1, 0):
        enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=days_ago, effort=6, note="in the park"))
    first, second = Attempt.objects.order_by("happened_at")
    assert {(row.source, row.hold_tenths, row.reps, row.effort) for row in (first, second)} == {("own", 50, 3, 6)}
    assert second.logged_by == athlete_member
    assert Remark.objects.filter(about=second.id).get().text == "in the park"
    assert standing_now(athlete, "pullover-1").state == "working"


def test_it_passes_a_step_whose_criterion_looks_at_own_entries(coach, athlete, athlete_member):
    adopt(coach, "pullover-1", {"holds": {"count": 3, "seconds": 5, "dates": 2, "who": ["judged", "own"]}})
    enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=1, sets=2))
    assert standing_now(athlete, "pullover-1").state == "working"
    logged = enter_own_practice(by=athlete_member, entry=own(athlete, sets=1))
    assert logged.standing.state == "passed"


def test_it_never_counts_for_a_step_with_a_clearance_whatever_the_criterion_says(coach, athlete, athlete_member):
    adopt(coach, "pullover-3a", {"holds": {"count": 1, "seconds": 5, "who": ["judged", "own"]}})
    reach(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="alone")
    with time_machine.travel(timezone.now() + timedelta(days=1)):
        assert enter_own_practice(by=athlete_member, entry=own(athlete, "pullover-3a")).standing.state == "working"
        log(coach, athlete, "pullover-3a", 5.0)
        assert standing_now(athlete, "pullover-3a").state == "ready"


# ---- What is refused ----------------------------------------------------------------------------------------------


def test_a_closed_step_is_refused_and_so_is_one_that_opened_later(coach, athlete, athlete_member):
    assert sentences(athlete_member, own(athlete, "pullover-2")) == ["This step was not open on that day."]
    meet(coach, athlete, "pullover-1", days_ago=1)
    assert sentences(athlete_member, own(athlete, "pullover-2", days_ago=3)) == ["This step was not open on that day."]
    enter_own_practice(by=athlete_member, entry=own(athlete, "pullover-2"))


@pytest.mark.parametrize("clearance", ["spotted", "present"])
def test_an_inverted_step_is_refused_until_the_clearance_is_alone(coach, athlete, athlete_member, clearance):
    pass_step(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-3a", clearance=clearance)
    with time_machine.travel(timezone.now() + timedelta(days=1)):
        (sentence,) = sentences(athlete_member, own(athlete, "pullover-3a"))
    assert sentence == "This step is practised in class only, until a coach gives the clearance “alone”."


def test_on_the_day_of_the_clearance_and_before_it_an_inverted_step_is_still_refused(coach, athlete, athlete_member):
    pass_step(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-3a", clearance="alone")
    for days_ago in (0, 1):
        (sentence,) = sentences(athlete_member, own(athlete, "pullover-3a", days_ago=days_ago))
        assert "in class only" in sentence


def test_under_a_caution_nothing_is_entered_not_even_for_the_hours_before_it(coach, athlete, athlete_member):
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason="elbow"
    )
    (sentence,) = sentences(athlete_member, own(athlete))
    assert sentence == "A caution forbade this step on that day: nothing is entered for it. Ask a coach."
    enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=1))


@pytest.mark.parametrize(
    ("days_ago", "words"),
    [(-1, "That day lies ahead"), (15, "more than 14 days ago"), (400, "more than 14 days ago")],
)
def test_a_day_ahead_or_long_ago_is_refused(athlete, athlete_member, days_ago, words):
    (sentence,) = sentences(athlete_member, own(athlete, days_ago=days_ago))
    assert words in sentence


def test_fourteen_days_ago_is_taken(athlete, athlete_member):
    enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=14))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"sets": 0}, "Sets are a whole number from 1 to 20."),
        ({"sets": 21}, "Sets are a whole number from 1 to 20."),
        ({"hold_tenths": None}, "This step is held: enter the seconds."),
        ({"hold_tenths": 0}, "A hold lasts from 0.1 seconds to one hour."),
        ({"effort": 11}, "Effort is a whole number from 0 to 10."),
    ],
)
def test_figures_out_of_range_are_refused_and_nothing_is_stored(athlete, athlete_member, more, words):
    assert words in sentences(athlete_member, own(athlete, **more))
    assert not Attempt.objects.exists()


def test_nobody_enters_for_others_and_no_coach_for_anybody(coach, athlete, athlete_member, minor, guardian):
    for by, whose in ((athlete_member, minor), (guardian, athlete), (coach, athlete)):
        with pytest.raises(NotThereError):
            enter_own_practice(by=by, entry=own(whose))
    enter_own_practice(by=guardian, entry=own(minor))
    assert Attempt.objects.get().athlete == minor


def test_a_guardian_of_another_minor_does_not(minor, guardian, gym):
    other = make_athlete(gym, "Noa Silva", birth_on=years_before_today(12))
    make_guardian(other, "Sara Silva")
    with pytest.raises(NotThereError):
        enter_own_practice(by=guardian, entry=own(other))


# ---- Sets of reps ---------------------------------------------------------------------------------------------------


def test_sets_of_reps_are_one_attempt_each_on_the_day(coach, athlete, athlete_member):
    meet(coach, athlete, "pullover-1", days_ago=3)
    enter_own_practice(by=athlete_member, entry=own(athlete, "pullover-3", days_ago=1, hold_tenths=None, reps=4))
    rows = Attempt.objects.filter(source="own").order_by("happened_at")
    assert [(row.reps, row.hold_tenths) for row in rows] == [(4, None)] * 3
    assert {row.happened_at.astimezone(athlete.gym.zone).date() for row in rows} == {today(athlete) - timedelta(days=1)}


def test_sets_just_after_midnight_stay_on_their_day(coach, athlete, athlete_member):
    meet(coach, athlete, "pullover-1", days_ago=3)
    midnight = datetime.combine(today(athlete) + timedelta(days=1), datetime.min.time(), athlete.gym.zone)
    with time_machine.travel(midnight + timedelta(seconds=2), tick=False):
        entry = own(athlete, "pullover-3", hold_tenths=None, sets=9)
        enter_own_practice(by=athlete_member, entry=entry)
    rows = Attempt.objects.filter(source="own")
    assert {row.happened_at.astimezone(athlete.gym.zone).date() for row in rows} == {midnight.date()}


def test_on_the_days_of_the_clock_changes_the_day_is_the_gyms(coach, athlete, athlete_member):
    for day in (datetime(2026, 3, 29, 20, tzinfo=UTC), datetime(2026, 10, 25, 20, tzinfo=UTC)):
        with time_machine.travel(day + timedelta(days=1), tick=False):
            logged = enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=1))
        assert logged.attempt.happened_at.astimezone(athlete.gym.zone).date() == day.date()


# ---- Twice, and taken back -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("code", "more"), [("pullover-1", {}), ("pullover-3", {"hold_tenths": None, "reps": 2})])
def test_the_same_entry_twice_is_one_also_a_minute_later(coach, athlete, athlete_member, code, more):
    meet(coach, athlete, "pullover-1", days_ago=3)
    entry = own(athlete, code, **more)
    first = enter_own_practice(by=athlete_member, entry=entry)
    before = Attempt.objects.count()
    with time_machine.travel(timezone.now() + timedelta(minutes=1)):
        second = enter_own_practice(by=athlete_member, entry=entry)
    assert (first.created, second.created) == (True, False)
    assert first.attempt == second.attempt
    assert Attempt.objects.count() == before


def test_the_id_of_an_entry_with_other_content_is_refused(coach, athlete, athlete_member):
    meet(coach, athlete, "pullover-1", days_ago=3)
    for code, more in (("pullover-1", {}), ("pullover-3", {"hold_tenths": None, "reps": 2})):
        entry = own(athlete, code, **more)
        enter_own_practice(by=athlete_member, entry=entry)
        before = Attempt.objects.count()
        yesterday = entry.practised_on - timedelta(days=1)
        others = [replace(entry, sets=2), replace(entry, sets=4), replace(entry, practised_on=yesterday)]
        for other in others:
            with pytest.raises(IdTakenError):
                enter_own_practice(by=athlete_member, entry=other)
        assert Attempt.objects.count() == before


def test_it_is_taken_back_within_the_day_by_who_entered_it_once(coach, athlete, athlete_member):
    attempt = enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=3)).attempt
    with pytest.raises(NoRightError):
        take_back_own_practice(by=coach, attempt=attempt)
    take_back_own_practice(by=athlete_member, attempt=attempt)
    with pytest.raises(AlreadyVoidError):
        take_back_own_practice(by=athlete_member, attempt=attempt)
    assert list(AuditEntry.objects.order_by("position").values_list("act", flat=True))[-2:] == [
        "attempt_logged",
        "attempt_voided",
    ]


def test_it_is_not_taken_back_on_another_day(athlete, athlete_member):
    attempt = enter_own_practice(by=athlete_member, entry=own(athlete)).attempt
    with (
        time_machine.travel(timezone.now() + timedelta(days=1)),
        pytest.raises(AttemptRefusedError, match="ask a coach"),
    ):
        take_back_own_practice(by=athlete_member, attempt=attempt)


# ---- Pain ------------------------------------------------------------


def test_pain_pauses_the_steps_with_the_same_load_until_a_coach_lifts_it(coach, athlete, athlete_member):
    enter_own_practice(by=athlete_member, entry=own(athlete, pain=True, note="left elbow"))
    caution = Caution.objects.get()
    assert (caution.loads, caution.until_at, caution.entered_by) == (["hanging"], None, athlete_member)
    assert Remark.objects.filter(about=caution.id).get().text == "left elbow"
    assert standing_now(athlete, "pullover-1").state == "paused"
    (sentence,) = sentences(athlete_member, own(athlete))
    assert "A caution forbade" in sentence


def test_pain_of_a_past_day_pauses_from_now_on_and_takes_nothing_from_tries_that_a_coach_judged_since(
    coach, athlete, athlete_member
):
    """Or an athlete could undo by one entry what was passed and signed off since that day."""
    meet(coach, athlete, "pullover-1", days_ago=2)
    before = timezone.now()
    assert standing_now(athlete, "pullover-1").base == "passed"
    enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=5, pain=True))
    assert Caution.objects.get().happened_at >= before
    there = standing_now(athlete, "pullover-1")
    assert (there.state, there.base) == ("paused", "passed")


def test_a_held_try_of_before_the_report_of_pain_still_comes_in(coach, athlete, athlete_member):
    """It may have waited on a tablet without a network."""
    enter_own_practice(by=athlete_member, entry=own(athlete, days_ago=5, pain=True))
    log(coach, athlete, "pullover-1", 5.0, days_ago=1)
    with pytest.raises(AttemptRefusedError, match="caution"):
        log(coach, athlete, "pullover-1", 5.0)


def test_pain_in_the_last_of_several_sets_leaves_the_first_ones_counted(coach, athlete, athlete_member):
    adopt(coach, "pullover-3", {"reps": {"count": 2, "reps": 2, "who": ["own"]}})
    meet(coach, athlete, "pullover-1", days_ago=3)
    enter_own_practice(by=athlete_member, entry=own(athlete, "pullover-3", hold_tenths=None, reps=2, pain=True))
    assert [row.pain for row in Attempt.objects.filter(source="own").order_by("happened_at")] == [False, False, True]
    assert standing_now(athlete, "pullover-3").base == "passed"


def test_a_step_under_way_is_open_for_own_practice(coach, athlete, athlete_member):
    reach(coach, athlete, "pullover-3")
    enter_own_practice(by=athlete_member, entry=own(athlete, "pullover-3", hold_tenths=None))
