"""The played gym, as values: who is there, what happened, and that nothing happened that a gym would refuse."""

import os
import subprocess
import sys
import unicodedata
from collections import Counter
from datetime import date, timedelta
from itertools import pairwise
from statistics import mean

import pytest

from athletes.core.people import age_years
from athletes.core.roster import RosterEntry, mass_problem, name_problem, stature_problem, tidy_name
from gymtrack.bootstrap import ROOT
from skills.core.days import day_starts_us, local_date
from skills.core.entries import Result, StepForm, mistakes_in
from skills.core.facts import History
from skills.core.readiness import evaluate, openings_due
from skills.demo import cast
from skills.demo.latent import Latent
from skills.demo.simulation import simulate
from skills.demo.syllabus import FULL_STANDARD_STEP, goal_at
from skills.demo.trying import Form, try_once
from tests.skills.demo.conftest import UNTIL

SCRIPTS = {"LATIN", "GREEK", "CYRILLIC", "ARABIC", "HEBREW", "CJK", "HANGUL", "DEVANAGARI"}
NEVER_STARTED = 10


@pytest.fixture(scope="module")
def noon_us(played):
    return day_starts_us(UNTIL, cast.ZONE) + 12 * 3600 * 1_000_000


@pytest.fixture(scope="module")
def tries(played):
    return [tried for diary in played.diaries for tried in diary.tries]


def bases(played, us, code):
    return Counter(diary.timelines[code].at(us).base for diary in played.diaries)


def history_of(diary):
    return History(
        attempts=tuple(tried.fact for tried in diary.tries),
        voids=tuple(void.fact for void in diary.voids),
        openings=tuple(opened.fact for opened in diary.openings),
        sign_offs=tuple(decided.fact for decided in diary.sign_offs),
        cautions=tuple(caution.fact for caution in diary.cautions),
        lifts=tuple(lift.fact for lift in diary.lifts),
    )


def test_cast_has_forty_athletes_of_whom_six_are_minors_and_three_coaches(played):
    ages = [age_years(diary.trainee.birth_on, UNTIL) for diary in played.diaries]
    assert (len(ages), sum(age < 18 for age in ages), len(cast.COACHES)) == (40, 6, 3)
    assert [diary.trainee.minor for diary in played.diaries] == [age < 18 for age in ages]


def test_names_come_from_many_scripts_and_may_stand_on_a_roster(played):
    names = [role.full_name for role in cast.ATHLETES]
    assert [name_problem(tidy_name(name)) for name in names] == [""] * 40
    assert len({RosterEntry(name).key for name in names}) == 40
    found = {unicodedata.name(letter).split()[0] for name in names for letter in name if letter.isalpha()}
    assert found >= SCRIPTS


def test_bodies_have_likely_measures_and_who_grows_is_measured_each_three_months(played):
    for trainee in (diary.trainee for diary in played.diaries):
        for measured in trainee.measures:
            assert not stature_problem(measured.stature_mm / 1000)
            assert not mass_problem(measured.mass_dag / 100)
        days = [measured.on for measured in trainee.measures]
        assert all(later - earlier <= timedelta(days=92) for earlier, later in pairwise(days))
        assert len(days) == 1 or trainee.minor


def test_half_a_year_has_three_or_four_classes_a_week(played):
    weeks = Counter(session.on.toordinal() // 7 for session in played.sessions)
    assert (played.until - played.first).days == 182
    assert {*weeks.values()} <= {1, 2, 3, 4, 5}
    assert 3 <= mean(weeks.values()) <= 4
    assert all(session.ends_us for session in played.sessions)
    assert max(session.on for session in played.sessions) < UNTIL


def test_a_class_of_the_last_day_still_runs_with_eight_present(played):
    assert (played.running.on, played.running.ends_us) == (UNTIL, None)
    assert played.running.starts_us == day_starts_us(UNTIL, cast.ZONE)  # so it runs at any hour of that day
    assert len({*played.present_today}) == 8


def test_nothing_happens_outside_of_the_half_year(played, tries):
    begins, ends = day_starts_us(played.first, cast.ZONE), played.running.starts_us
    assert all(begins < tried.fact.happened_us < tried.fact.recorded_us < ends for tried in tries)


def test_tries_in_a_class_lie_between_its_beginning_and_its_end(played, tries):
    classes = {session.id: session for session in played.sessions}
    for fact in (tried.fact for tried in tries if tried.fact.session):
        assert classes[fact.session].starts_us < fact.happened_us < classes[fact.session].ends_us


def test_attempts_come_in_all_kinds(tries):
    facts = [tried.fact for tried in tries]
    assert {fact.source for fact in facts} == {"judged", "counted", "timed_only", "own"}
    assert {fact.assistance for fact in facts} == {"none", "band", "spot", "box", "feet"}
    for some in (
        [fact for fact in facts if fact.faults],
        [fact for fact in facts if fact.missed],
        [fact for fact in facts if fact.variant],
        [fact for fact in facts if fact.pain],
        [fact for fact in facts if fact.grade],
        [fact for fact in facts if fact.hold_tenths and fact.reps == 3],
        [tried for tried in tries if tried.effort],
    ):
        assert 0 < len(some) < len(facts)
    assert 0.5 < mean(fact.clean for fact in facts) < 0.85


def test_every_attempt_would_have_been_taken_from_a_tablet(played, tries):
    for tried in tries:
        fact, drill = tried.fact, played.syllabus.drills[tried.fact.step]
        form = StepForm(
            drill.is_hold,
            frozenset(drill.faults),
            frozenset(drill.checkpoints),
            frozenset(drill.variants),
            drill.grades,
            drill.low_bar_check,
        )
        result = Result(
            hold_tenths=fact.hold_tenths,
            reps=fact.reps,
            unbroken=fact.unbroken,
            assistance=fact.assistance,
            variant=fact.variant,
            faults=tuple(fact.faults),
            missed=tuple(fact.missed),
            effort=tried.effort,
            pain=fact.pain,
            grade=fact.grade,
        )
        assert mistakes_in(result, form) == ()


def test_nobody_tries_what_is_closed_or_what_a_caution_forbids(played):
    for diary in played.diaries:
        for fact in (tried.fact for tried in diary.tries):
            assert diary.timelines[fact.step].at(fact.happened_us - 1).state not in {"closed", "paused"}


def test_low_bars_are_checked_on_the_day_before_anybody_turns(played, tries):
    checked = {check.session.id: check.us for check in played.bar_checks}
    turns = [tried.fact for tried in tries if played.syllabus.drills[tried.fact.step].low_bar_check]
    assert turns
    for fact in turns:
        assert checked[fact.session] < fact.happened_us
        assert local_date(checked[fact.session], cast.ZONE) == local_date(fact.happened_us, cast.ZONE)


def test_timelines_and_openings_are_those_that_the_engine_finds_anew(played, noon_us):
    for diary in played.diaries:
        history = history_of(diary)
        standing = evaluate(played.syllabus.rules, history, noon_us)
        assert {code: step.timeline for code, step in standing.steps.items()} == diary.timelines
        assert openings_due(played.syllabus.rules, diary.timelines, history, noon_us) == ()


def test_coaches_decide_only_at_gates_that_wait_and_with_the_right_to(played):
    signing = {coach.key for coach in cast.COACHES if coach.signs}
    for diary in played.diaries:
        for decided in diary.sign_offs:
            fact = decided.fact
            assert decided.by in signing
            before = diary.timelines[fact.step].at(fact.happened_us - 1)
            assert (fact.decision == "revoked" and before.base == "passed") or before.awaits == fact.gate
            assert (fact.clearance == "") == (fact.decision != "passed") == bool(decided.reason)
            assert fact.evidence or fact.decision == "revoked"


def test_minors_are_never_cleared_to_be_alone(played):
    given = [(diary.trainee.minor, each.fact.clearance) for diary in played.diaries for each in diary.sign_offs]
    assert (False, "alone") in given
    assert (True, "alone") not in given


def test_attempts_on_the_wrong_tile_are_taken_back(played):
    for diary in played.diaries:
        ids = {tried.fact.id: tried.fact for tried in diary.tries}
        for void in diary.voids:
            assert 0 < void.fact.happened_us - ids[void.fact.attempt].happened_us < 60_000_000
    assert sum(len(diary.voids) for diary in played.diaries) > 5


def test_a_sign_off_is_revoked_and_what_rested_on_it_is_flagged(played, noon_us):
    revoked = [
        (diary, decided.fact.step)
        for diary in played.diaries
        for decided in diary.sign_offs
        if decided.fact.decision == "revoked"
    ]
    assert len(revoked) == 1
    diary, code = revoked[0]
    above = [step for step in played.syllabus.rules.dependents(code) if diary.timelines[step].at(noon_us).flags]
    assert above
    assert all("prerequisite_fell" in diary.timelines[step].at(noon_us).flags for step in above)


def test_cautions_were_lifted_and_one_holds_today(played, noon_us):
    by_number = {diary.trainee.number: diary for diary in played.diaries if diary.cautions}
    lifted = {number for number, diary in by_number.items() if diary.lifts}
    assert lifted == {cast.PAIN_NUMBER, cast.AWAY_FROM_SUPPORT_NUMBER}
    assert {*by_number} - lifted == {cast.PAUSED_TODAY_NUMBER}
    paused = by_number[cast.PAUSED_TODAY_NUMBER]
    assert {timeline.at(noon_us).state for timeline in paused.timelines.values()} >= {"paused"}
    assert paused.trainee.id in played.present_today


def test_pain_is_followed_by_a_caution_at_once(played):
    hurting = [(diary, tried.fact) for diary in played.diaries for tried in diary.tries if tried.fact.pain]
    for diary, fact in hurting:
        loads = [caution.fact.loads for caution in diary.cautions if caution.fact.from_us == fact.happened_us]
        assert loads == [played.syllabus.rules.steps[fact.step].loads]


def test_not_everybody_gets_equally_far(played, noon_us):
    first, last = bases(played, noon_us, "pullover-1"), bases(played, noon_us, "pullover-8")
    assert first["passed"] > 20
    assert 3 <= last["passed"] + last["recheck"] <= 20
    passed = [sum(t.at(noon_us).base == "passed" for t in diary.timelines.values()) for diary in played.diaries]
    assert min(passed) <= 2
    assert max(passed) >= 15
    assert len({*passed}) >= 10


def test_somebody_is_stuck(played, noon_us):
    (stuck,) = [diary for diary in played.diaries if diary.trainee.role.kind == "stuck"]
    assert len(stuck.tries) > 100
    assert stuck.timelines["pullover-2"].at(noon_us).base in {"closed", "working"}


def test_gates_wait_and_rechecks_are_due(played, noon_us):
    now = [timeline.at(noon_us) for diary in played.diaries for timeline in diary.timelines.values()]
    assert {"entrance", "finish"} <= {change.awaits for change in now}
    assert 3 <= sum(bool(change.awaits) for change in now) <= 40
    due, passed = (sum(change.base == base for change in now) for base in ("recheck", "passed"))
    assert 5 <= due <= passed / 3


def test_one_step_asks_for_the_full_standard_since_a_month(played, noon_us):
    rule = played.syllabus.rules.steps[FULL_STANDARD_STEP]
    since = rule.criteria[-1]
    assert (goal_at(rule, since.from_us - 1).tenths, goal_at(rule, since.from_us).tenths) == (50, 200)
    assert local_date(since.from_us, cast.ZONE) == UNTIL - timedelta(days=30)


def test_people_stay_away_for_weeks(played):
    days = {session.id: session.on for session in played.sessions}
    breaks = [
        later - earlier
        for diary in played.diaries
        for earlier, later in pairwise([days[session] for session in diary.present])
    ]
    assert max(breaks) >= timedelta(days=21)


@pytest.mark.parametrize(("is_hold", "code"), [(True, "pullover-2"), (False, "pull-up-3")])
def test_half_of_the_tries_reach_what_is_asked_at_a_strength_equal_to_the_demand(played, rng, is_hold, code):
    drill, goal = played.syllabus.drills[code], goal_at(played.syllabus.rules.steps[code], 0)
    latent = Latent(0, 0, 0.3, 0, 1, (), ())
    results = [try_once(rng, Form(latent, drill.demand, False, {}), drill, goal, 0) for _ in range(2000)]  # noqa: FBT003
    assert drill.is_hold == is_hold
    reached = [(r.hold_tenths or 0) >= (goal.tenths or 0) if is_hold else r.reps >= goal.reps for r in results]
    assert 0.46 < mean(reached) < 0.54


def test_other_seeds_keep_the_promises_too():
    played = simulate(seed=7, until=date(2025, 11, 2), days=120)
    decisions = Counter(each.fact.decision for diary in played.diaries for each in diary.sign_offs)
    assert decisions["revoked"] == 1
    assert decisions["not_yet"] > 0
    assert sum(len(diary.voids) for diary in played.diaries) > 0
    assert len(played.present_today) == 8


def test_the_same_seed_plays_the_same_gym_in_every_process():
    script = (
        "from datetime import date; from hashlib import sha256; from skills.demo.simulation import simulate\n"
        "gym = simulate(seed=3, until=date(2026, 3, 15), days=28)\n"
        "facts = [(t.fact.id, t.fact.happened_us, t.fact.hold_tenths, sorted(t.fact.faults), t.effort) "
        "for d in gym.diaries for t in d.tries]\n"
        "print(len(facts), sha256(repr(facts).encode()).hexdigest())"
    )
    said = [
        subprocess.run(
            [sys.executable, "-c", script],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": hash_seed},
            capture_output=True,
            check=True,
            timeout=120,
        ).stdout
        for hash_seed in ("1", "2")
    ]
    assert said[0] == said[1]
    assert int(said[0].split()[0]) > 300
