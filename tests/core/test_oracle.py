"""The engine against the slow second opinion, over rules and histories dealt at random."""

import random
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from skills.core.criteria import Criterion
from skills.core.facts import History
from skills.core.readiness import default_timeline, evaluate, evaluate_step, look_at, openings_due
from skills.core.timeline import Change, Timeline
from tests.core.oracle import (
    Seen,
    candidate_moments,
    due_openings,
    either_side,
    evidence_at,
    oracle_timeline,
    version_at,
)
from tests.core.oracle_counting import Book
from tests.core.oracle_missing import missing_at, progress_at
from tests.core.plain import rules, step
from tests.strategies import (
    DAY_US,
    Case,
    Choose,
    cases,
    deal_caution,
    deal_criterion,
    deal_lift,
    deal_single_step,
    long_case,
    shuffled,
)

thorough = settings(
    max_examples=200,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
brief = settings(thorough, max_examples=60)


def timelines_of(case: Case) -> dict[str, Timeline]:
    steps = evaluate(case.rules, case.history, 0).steps
    return {code: step.timeline for code, step in steps.items()}


def seen_in(change: Change) -> Seen:
    return Seen(
        state=change.state,
        base=change.base,
        clearance=change.clearance,
        awaits=change.awaits,
        flags=change.flags,
        trouble=change.trouble,
    )


def moments_of(case: Case, timelines: Mapping[str, Timeline]) -> set[int]:
    """The oracle's candidates and every moment at which the engine says that something changes."""
    changes = {change.from_us for timeline in timelines.values() for change in timeline.changes}
    return candidate_moments(case.rules, case.history) | changes


def assert_engine_sees_what_the_oracle_sees(
    case: Case, timelines: Mapping[str, Timeline], moments: Iterable[int]
) -> None:
    for code, timeline in timelines.items():
        expected = oracle_timeline(case.rules, case.history, code, moments)
        assert tuple((us, seen_in(timeline.at(us))) for us, _ in expected) == expected, code


@thorough
@given(cases())
def test_timeline_says_what_the_oracle_sees_around_every_candidate_moment(case: Case):
    timelines = timelines_of(case)

    assert set(timelines) == set(case.rules.steps)
    assert_engine_sees_what_the_oracle_sees(case, timelines, moments_of(case, timelines))


@pytest.mark.parametrize("seed", range(8))
def test_timeline_of_a_season_says_what_the_oracle_sees_at_sampled_moments(seed: int):
    case = long_case(seed)
    timelines = timelines_of(case)
    moments = sorted(moments_of(case, timelines))

    assert len(case.history.attempts) > 100
    assert_engine_sees_what_the_oracle_sees(case, timelines, random.Random(seed).sample(moments, 60))


@brief
@given(cases())
def test_timeline_begins_at_zero_and_each_change_changes_something(case: Case):
    for timeline in timelines_of(case).values():
        assert timeline.changes[0].from_us == 0
        for earlier, later in pairwise(timeline.changes):
            assert earlier.from_us < later.from_us
            assert seen_in(earlier) != seen_in(later)
            assert timeline.after(earlier.from_us) == timeline.after(later.from_us - 1) == later
        assert timeline.after(timeline.changes[-1].from_us) is None
        assert Timeline.from_json(timeline.to_json()) == timeline


@brief
@given(cases(), st.integers(0, 99))
def test_facts_in_any_order_give_the_same_bytes(case: Case, seed: int):
    moment = random.Random(seed).choice(sorted(candidate_moments(case.rules, case.history)))

    straight = evaluate(case.rules, case.history, moment)
    mixed = evaluate(case.rules, shuffled(case.history, seed), moment)

    assert [step.timeline.to_json().encode() for step in straight.steps.values()] == [
        step.timeline.to_json().encode() for step in mixed.steps.values()
    ]
    assert repr(mixed) == repr(straight)


@brief
@given(cases())
def test_steps_evaluated_one_by_one_give_what_all_together_give(case: Case):
    together = timelines_of(case)
    for code, timeline in together.items():
        parents = {step: together[step] for step in case.rules.steps[code].parents}

        assert evaluate_step(case.rules, code, case.history, parents) == timeline
        assert evaluate_step(case.rules, code, facts_of(case.history, code), parents) == timeline


def facts_of(history: History, code: str) -> History:
    return replace(
        history,
        attempts=tuple(fact for fact in history.attempts if fact.step == code),
        openings=tuple(fact for fact in history.openings if fact.step == code),
        sign_offs=tuple(fact for fact in history.sign_offs if fact.step == code),
    )


@brief
@given(cases(), st.integers(0, 99))
def test_openings_due_are_those_that_the_oracle_finds(case: Case, seed: int):
    case = replace(case, history=without_openings_of_some(case, seed))
    timelines = timelines_of(case)
    moments = sorted(candidate_moments(case.rules, case.history))
    passing = {change.from_us for t in timelines.values() for change in t.changes if change.base == "passed"}
    for moment in {*random.Random(seed).choices(moments, k=4), moments[-1], *passing}:
        due = openings_due(case.rules, timelines, case.history, moment)

        assert len(due) == len(set(due))
        assert {(one.step, one.happened_us) for one in due} == due_openings(case.rules, case.history, moment)


def without_openings_of_some(case: Case, seed: int) -> History:
    closed = {code for code in case.rules.steps if random.Random(f"{seed} {code}").random() < 0.5}
    return replace(case.history, openings=tuple(o for o in case.history.openings if o.step not in closed))


@brief
@given(cases(), st.integers(0, 99))
def test_look_tells_evidence_progress_and_what_is_missing_at_sampled_moments(case: Case, seed: int):
    timelines = timelines_of(case)
    book = Book(case.rules, case.history)
    moments = either_side(candidate_moments(case.rules, case.history))
    for moment in random.Random(seed).choices(moments, k=8):
        for code in case.rules.steps:
            look = look_at(case.rules, code, case.history, timelines, moment)

            assert look.now == timelines[code].at(moment)
            assert look.evidence == evidence_at(book, code, moment)
            assert look.missing == missing_at(book, code, moment)
            assert look.progress == progress_at(book, code, moment)
            assert look.criterion_version == (version_at(book, code, moment) or 0)


@pytest.mark.parametrize("batch", range(6))
def test_look_at_one_step_tells_what_the_oracle_finds_at_every_candidate_moment(batch: int):
    for seed in range(batch * 25, batch * 25 + 25):
        case = deal_single_step(random.Random(seed).choice, any_criterion, attempts=14)
        book = Book(case.rules, case.history)
        timelines = timelines_of(case)
        for moment in candidate_moments(case.rules, case.history):
            look = look_at(case.rules, "hang", case.history, timelines, moment)
            told = (look.evidence, look.progress, look.missing)

            assert told == (
                evidence_at(book, "hang", moment),
                progress_at(book, "hang", moment),
                missing_at(book, "hang", moment),
            ), f"seed {seed} at {moment}"


@pytest.mark.parametrize("seed", range(40))
def test_pause_by_several_cautions_is_told_as_the_oracle_tells_it(seed: int):
    choose = random.Random(seed).choice
    gym = rules(step("hang", loads=frozenset({"hanging", "inversion"})))
    moments = range(0, 3 * DAY_US, DAY_US // 4)
    history = History(
        cautions=tuple(deal_caution(choose, f"c{place}", moments) for place in range(5)),
        lifts=tuple(deal_lift(choose, ("c0", "c1"), moments) for _ in range(2)),
    )
    timelines = timelines_of(Case(gym, history))
    for moment in either_side(candidate_moments(gym, history)):
        told = look_at(gym, "hang", history, timelines, moment).missing
        assert told == missing_at(Book(gym, history), "hang", moment)


def any_criterion(choose: Choose) -> Criterion:
    return deal_criterion(choose, (), 2)


@brief
@given(cases(), st.integers(0, 99))
def test_standing_is_the_look_at_each_step(case: Case, seed: int):
    moment = random.Random(seed).choice(sorted(candidate_moments(case.rules, case.history)))
    standing = evaluate(case.rules, case.history, moment)
    timelines = {code: step.timeline for code, step in standing.steps.items()}

    assert standing.as_of_us == moment
    for code, at_step in standing.steps.items():
        assert look_at(case.rules, code, case.history, timelines, moment) == at_step


@brief
@given(cases())
def test_without_facts_every_step_has_its_default_timeline(case: Case):
    steps = evaluate(case.rules, History(), 0).steps

    assert {code: step.timeline for code, step in steps.items()} == {
        code: default_timeline(case.rules, code) for code in case.rules.steps
    }


@brief
@given(cases(), st.integers(0, 99))
def test_what_was_known_is_told_from_the_facts_recorded_by_then(case: Case, seed: int):
    moment = random.Random(seed).choice(sorted(candidate_moments(case.rules, case.history)))
    known = case.history.known_at(moment)

    for name in ("attempts", "voids", "openings", "sign_offs", "cautions", "lifts"):
        expected = tuple(fact for fact in getattr(case.history, name) if fact.recorded_us <= moment)
        assert getattr(known, name) == expected
