"""What a draft of a criterion would have done, told on invented pasts and held to the slow second opinion."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from skills.core.criteria import Counting, Criterion, HoldsOf, HoldTarget, LastOf, ReliabilityOf, StepPassed
from skills.core.facts import Attempt, History, SignOff, Void
from skills.core.readiness import evaluate
from skills.core.replay import Outcome, Passes, Past, Replay, replay
from skills.core.steps import CriterionInForce, CycleError, Rules, UnknownStepError
from tests.core.oracle import base_at, candidate_moments, decisions, is_met, is_met_in_force
from tests.core.oracle_counting import Book, is_open
from tests.core.plain import attempt, opening, rules, sign_off, step
from tests.strategies import Case, cases, deal_criterion

T = TypeVar("T")
DAY = 86_400_000_000
NOW = 100 * DAY
THREE, FOUR = HoldsOf(3, 50), HoldsOf(4, 50)


def gym(*criteria: Criterion, **changes: Any) -> Rules:
    """One step that waits for a sign-off, with these criteria: the first since ever, each other a day later."""
    versions = tuple(CriterionInForce(number, (number - 1) * DAY, each) for number, each in enumerate(criteria, 1))
    asked: dict[str, Any] = {"needs_sign_off": True, "criteria": versions} | changes
    return rules(step("hang", **asked))


def holds(*days: float) -> tuple[Attempt, ...]:
    return tuple(attempt(round(day * DAY)) for day in days)


def past(attempts: tuple[Attempt, ...] = (), sign_offs: tuple[SignOff, ...] = (), **facts: object) -> Past:
    return Past(History(attempts=attempts, sign_offs=sign_offs, **facts), {})  # type: ignore[arg-type]


def replayed(rules: Rules, draft: Criterion, *pasts: Past, as_of_us: int = NOW) -> Replay:
    return replay(rules, "hang", draft, {f"athlete {place}": each for place, each in enumerate(pasts)}, as_of_us)


def the_one(rules: Rules, draft: Criterion, one: Past, as_of_us: int = NOW) -> Outcome:
    [outcome] = replayed(rules, draft, one, as_of_us=as_of_us).outcomes
    return outcome


# ---- When it was first met ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "before", "draft", "first_days", "move"),
    [
        ((1, 2, 3, 4), THREE, FOUR, (3, 4), "later"),
        ((1, 2, 3, 4), FOUR, THREE, (4, 3), "earlier"),
        ((1, 2, 3), THREE, FOUR, (3, None), "no_longer"),
        ((1, 2, 3), FOUR, THREE, (None, 3), "newly"),
        ((1, 2, 3), THREE, LastOf(3, 3, HoldTarget(50)), (3, 3), "same"),
        ((1, 2), THREE, FOUR, (None, None), None),
    ],
)
def test_the_first_moment_moves(days, before, draft, first_days, move):
    outcome = the_one(gym(before), draft, past(holds(*days)))
    moments = [None if day is None else day * DAY for day in first_days]
    assert [outcome.then_us, outcome.draft_us] == moments
    assert outcome.move == move


def test_moves_are_counted_by_kind():
    found = replayed(gym(THREE), FOUR, past(holds(1, 2, 3, 4)), past(holds(1, 2, 3)), past(holds(4, 5, 6)), past())
    assert found.moves == {"earlier": 0, "later": 1, "newly": 0, "no_longer": 2, "same": 0}
    assert [outcome.athlete for outcome in found.outcomes] == ["athlete 0", "athlete 1", "athlete 2", "athlete 3"]


def test_what_was_met_goes_by_the_criterion_that_was_in_force_then():
    changed = gym(THREE, HoldsOf(1, 50))  # one hold is enough from day 1 on
    assert the_one(changed, THREE, past(holds(0.1, 0.2, 5))).then_us == DAY
    assert the_one(changed, THREE, past(holds(0.1, 0.2, 5))).draft_us == 5 * DAY


def test_nothing_counts_while_the_step_is_closed():
    gated = gym(THREE, asks_clearance=True)
    late = past(holds(1, 2, 3, 5, 6), openings=(opening(4 * DAY, "hang"),))
    assert the_one(gated, HoldsOf(1, 50), late).draft_us == 5 * DAY
    assert the_one(gated, HoldsOf(1, 50), past(holds(1, 2, 3))).draft_us is None


def test_a_try_that_was_taken_back_never_happened():
    taken_back = past(holds(1, 2, 3), voids=(Void(f"attempt at {DAY}", 50 * DAY, 50 * DAY),))
    assert the_one(gym(THREE), THREE, taken_back).then_us is None


def test_what_lies_ahead_of_now_is_left_aside():
    """One miss leaves the window of two days, and then the two clean tries are enough."""
    missed = attempt(DAY, faults=frozenset({"swing"}))
    rate = ReliabilityOf(40, 90, HoldTarget(50), None, Counting(window_days=2))
    facts = past((missed, *holds(2, 2.1)))
    assert the_one(gym(THREE), rate, facts, as_of_us=3 * DAY).draft_us == 3 * DAY
    assert the_one(gym(THREE), rate, facts, as_of_us=3 * DAY - 1).draft_us is None


# ---- If it were adopted now --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "draft", "bases", "loses", "gains"),
    [
        (THREE, FOUR, ("ready", "working"), True, False),
        (FOUR, THREE, ("working", "ready"), False, True),
        (THREE, HoldsOf(2, 50), ("ready", "ready"), False, False),
        (FOUR, HoldsOf(5, 50), ("working", "working"), False, False),
    ],
)
def test_readiness_today_if_it_were_adopted_now(before, draft, bases, loses, gains):
    outcome = the_one(gym(before), draft, past(holds(1, 2, 3)))
    assert ((outcome.now, outcome.adopted), outcome.loses, outcome.gains) == (bases, loses, gains)


def test_an_automatic_step_stays_passed_and_may_pass_at_once():
    passed = the_one(gym(THREE, needs_sign_off=False), FOUR, past(holds(1, 2, 3)))
    assert (passed.now, passed.adopted, passed.loses) == ("passed", "passed", False)
    passing = the_one(gym(FOUR, needs_sign_off=False), THREE, past(holds(1, 2, 3)))
    assert (passing.now, passing.adopted, passing.gains) == ("working", "passed", True)


def test_the_draft_holds_now_even_where_a_version_began_this_moment():
    begun = gym(THREE, criteria=(CriterionInForce(1, 0, THREE), CriterionInForce(7, NOW, THREE)))
    assert the_one(begun, FOUR, past(holds(1, 2, 3))).adopted == "working"


# ---- Sign-offs ---------------------------------------------------------------------------------------------------


def test_sign_offs_by_whether_the_draft_was_met_and_how_many_were_revoked():
    four = past(holds(1, 2, 3, 4), (sign_off(5 * DAY, "hang"),))
    three = past(holds(1, 2, 3), (sign_off(5 * DAY, "hang"), sign_off(6 * DAY, "hang", decision="revoked")))
    found = replayed(gym(THREE), FOUR, four, three, past())
    assert found.met == Passes(made=1, revoked=0)
    assert found.unmet == Passes(made=1, revoked=1)


@pytest.mark.parametrize(
    ("said", "made", "revoked"),
    [
        (("passed", "not_yet", "revoked"), 1, 1),
        (("passed", "revoked", "passed"), 2, 1),
        (("passed", "passed", "revoked"), 2, 1),  # the second pass is what was taken back
        (("not_yet", "revoked"), 0, 0),
    ],
)
def test_a_revocation_takes_back_the_pass_before_it(said, made, revoked):
    signed = tuple(sign_off((5 + place) * DAY, "hang", decision=word) for place, word in enumerate(said))
    assert replayed(gym(THREE), THREE, past(holds(1, 2, 3), signed)).met == Passes(made, revoked)


def test_the_entrance_and_what_comes_after_now_are_no_sign_offs_at_the_finish():
    signed = (sign_off(DAY, "hang", gate="entrance"), sign_off(NOW + 1, "hang"))
    found = replayed(gym(THREE), THREE, past((), signed))
    assert (found.met, found.unmet) == (Passes(), Passes())


# ---- Drafts that cannot be ---------------------------------------------------------------------------------------


def test_a_draft_that_waits_for_a_step_that_waits_for_this_one_is_refused_by_name():
    two = rules(step("hang", needs_sign_off=True), step("swing", requires=("hang",)))
    with pytest.raises(CycleError, match="hang → swing → hang"):
        replay(two, "hang", StepPassed("swing"), {}, NOW)


def test_a_draft_that_names_an_unknown_step_is_refused_by_name():
    with pytest.raises(UnknownStepError, match="nowhere"):
        replayed(gym(THREE), StepPassed("nowhere"))


# ---- The slow second opinion -------------------------------------------------------------------------------------


@st.composite
def drafts(draw: st.DrawFn) -> tuple[Case, str, Criterion, int]:
    """Rules and facts, one of the steps, a draft that may name steps before it, and a moment to ask at."""

    def choose(options: Sequence[T], /) -> T:
        return options[draw(st.integers(0, len(options) - 1))]

    case = draw(cases())
    code = choose(case.rules.order)
    earlier = case.rules.order[: case.rules.order.index(code)]
    as_of_us = choose(sorted(candidate_moments(case.rules, case.history)))
    return case, code, deal_criterion(choose, earlier, 2), as_of_us


def with_criteria(rules: Rules, code: str, *criteria: CriterionInForce) -> Rules:
    return Rules({**rules.steps, code: replace(rules.steps[code], criteria=criteria)}, rules.zone)


def first_met(book: Book, code: str, as_of_us: int) -> int | None:
    moments = candidate_moments(book.rules, book.history)
    met = [us for us in moments if us <= as_of_us and is_open(book, code, us) and is_met_in_force(book, code, us)]
    return min(met, default=None)


def passes(book: Book, code: str, draft: Criterion, as_of_us: int, *, met: bool) -> Passes:
    made = decisions(book, code, "finish", as_of_us)
    fates = [
        [later.decision for later in made[place + 1 :]]
        for place, each in enumerate(made)
        if each.decision == "passed" and is_met(book, code, draft, each.happened_us) is met
    ]
    until_next = [fate[: fate.index("passed")] if "passed" in fate else fate for fate in fates]
    return Passes(len(until_next), sum("revoked" in fate for fate in until_next))


@settings(max_examples=80)
@given(drafts())
def test_the_replay_is_what_the_slow_second_opinion_finds(drafted):
    case, code, draft, as_of_us = drafted
    in_force = case.rules.steps[code].criteria
    since_ever = with_criteria(case.rules, code, CriterionInForce(1, 0, draft))
    from_now = with_criteria(
        case.rules,
        code,
        *(each for each in in_force if each.from_us <= as_of_us),
        CriterionInForce(1000, as_of_us, draft),
    )
    as_it_was, drafted_book, adopted = (Book(each, case.history) for each in (case.rules, since_ever, from_now))
    timelines = {key: each.timeline for key, each in evaluate(case.rules, case.history, as_of_us).steps.items()}
    found = replay(case.rules, code, draft, {"one": Past(case.history, timelines)}, as_of_us)
    expected = Outcome(
        "one",
        first_met(as_it_was, code, as_of_us),
        first_met(drafted_book, code, as_of_us),
        base_at(as_it_was, code, as_of_us),  # type: ignore[arg-type]
        base_at(adopted, code, as_of_us),  # type: ignore[arg-type]
    )
    assert found.outcomes == (expected,)
    assert found.met == passes(drafted_book, code, draft, as_of_us, met=True)
    assert found.unmet == passes(drafted_book, code, draft, as_of_us, met=False)
