"""What a rule lets through: published figures, a second library, the engine itself over every sequence of outcomes.

The table of figures was computed with exact binomial and run-length formulas; the chance of a run of k successes is
that of Feller, An Introduction to Probability Theory and Its Applications, volume 1, chapter XIII.7, whose mean wait
for the first run of k is (1 - p^k) / (q p^k).
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, product
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from skills.core import operating_curve
from skills.core.conditions import steps_named
from skills.core.criteria import (
    AllOf,
    AngleOf,
    AnyOf,
    AtLeastOf,
    BestOf,
    Counting,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    StepPassed,
)
from skills.core.facts import Attempt, History
from skills.core.operating_curve import RATES, SAMPLES, Curve, curve_of
from skills.core.plans import MOST_TRIES, Plan, PlannedRule
from skills.core.readiness import evaluate_step
from skills.core.timeline import Change, Timeline
from tests.core.plain import attempt, rules, step
from tests.strategies import deal_criterion

T = TypeVar("T")
HOLD = HoldTarget(50)
TABLE_RATES = (0.3, 0.5, 0.6, 0.7, 0.8, 0.9)
DAY_US, MINUTE_US = 86_400_000_000, 60_000_000


def tries(count: int, a_session: int = MOST_TRIES, days_between: int = 1) -> Plan:
    return Plan(count, a_session, days_between)


def holds(count: int, **counting: int) -> HoldsOf:
    return HoldsOf(count, 50, Counting(**counting))  # type: ignore[arg-type]


def last(clean: int, of: int, **counting: int) -> LastOf:
    return LastOf(clean, of, HOLD, Counting(**counting))  # type: ignore[arg-type]


def reliable(percent: int, of: int | None = None, **counting: int) -> ReliabilityOf:
    return ReliabilityOf(percent, 90, HOLD, of, Counting(**counting))  # type: ignore[arg-type]


def chances(curve: Curve) -> list[float]:
    return [point.chance for point in curve.points]


# ---- Known figures -----------------------------------------------------------------------------------------------

TABLE = {
    "3 of 3": (last(3, 3), 3, (0.027000, 0.125000, 0.216000, 0.343000, 0.512000, 0.729000)),
    "5 of 5": (last(5, 5), 5, (0.002430, 0.031250, 0.077760, 0.168070, 0.327680, 0.590490)),
    "4 of 5": (last(4, 5), 5, (0.030780, 0.187500, 0.336960, 0.528220, 0.737280, 0.918540)),
    "8 of 10": (last(8, 10), 10, (0.001590, 0.054688, 0.167290, 0.382783, 0.677800, 0.929809)),
    "9 of 10": (last(9, 10), 10, (0.000144, 0.010742, 0.046357, 0.149308, 0.375810, 0.736099)),
    "a run of 3 in 10": (last(3, 3), 10, (0.155116, 0.507812, 0.701361, 0.858591, 0.956170, 0.994837)),
    "a run of 3 in 20": (last(3, 3), 20, (0.310275, 0.787028, 0.927682, 0.985582, 0.998849, 0.999989)),
}


@pytest.mark.parametrize("name", TABLE)
def test_the_table_of_rules_comes_out_to_the_last_digit_printed(name):
    rule, count, expected = TABLE[name]
    assert chances(curve_of(rule, tries(count), TABLE_RATES)) == pytest.approx(expected, abs=5.1e-7)


MEAN_WAITS = dict(zip(TABLE_RATES, (51.4815, 14.0000, 9.0741, 6.3848, 4.7656, 3.7174), strict=True))


@pytest.mark.parametrize("rate", TABLE_RATES)
def test_the_mean_wait_for_a_run_of_three_is_fellers(rate):
    endless = PlannedRule.of(last(3, 3), Plan(MOST_TRIES, 1, 1))
    waiting = [1.0, *(1 - passed for [passed] in operating_curve._chain(endless, (rate,)))]
    # Beyond the plan the chance to go on waiting shrinks by the same factor from try to try.
    shrinking = waiting[-1] / waiting[-2] if waiting[-2] > 1e-9 else 0
    beyond = waiting[-1] * shrinking / (1 - shrinking)
    assert sum(waiting) + beyond == pytest.approx(MEAN_WAITS[rate], abs=5.1e-5)
    assert sum(waiting) + beyond == pytest.approx((1 - rate**3) / ((1 - rate) * rate**3), rel=1e-9)


def test_a_weak_athlete_passes_three_in_a_row_a_third_of_the_time_and_three_in_any_order_nearly_always():
    assert curve_of(last(3, 3), tries(20)).at(0.3).chance == pytest.approx(0.31, abs=0.005)
    assert curve_of(holds(3), tries(20)).at(0.3).chance == pytest.approx(0.96, abs=0.005)


@pytest.mark.parametrize(("count", "made"), [(1, 1), (1, 200), (3, 20), (8, 10), (20, 20), (5, 4), (60, 200)])
def test_counts_are_the_binomial_tail_of_scipy(count, made):
    curve = curve_of(HoldsOf(count, 50), tries(made))
    assert curve.method == "formula"
    expected = [binom.sf(count - 1, made, rate) for rate in RATES]
    assert chances(curve) == pytest.approx(expected, rel=1e-9, abs=1e-15)


def test_two_days_in_five_sessions_of_four_is_what_is_left_without_single_sessions():
    """Three clean of 20 on two days: at least three, but for those who are clean within one session only."""
    curve = curve_of(holds(3, dates=2), tries(20, 4))
    one_session = [5 * (1 - rate) ** 16 * binom.sf(2, 4, rate) for rate in RATES]
    expected = [binom.sf(2, 20, rate) - less for rate, less in zip(RATES, one_session, strict=True)]
    assert curve.method == "chain"
    assert chances(curve) == pytest.approx(expected, rel=1e-9)


# ---- The very rule that the engine uses --------------------------------------------------------------------------


def attempts_of(outcomes: Sequence[bool], plan: Plan) -> tuple[Attempt, ...]:
    """Tries as the plan has them, from noon on; each long enough, well graded and wide, clean or not."""
    return tuple(
        attempt(
            plan.day_of(place) * DAY_US + DAY_US // 2 + place * MINUTE_US,
            id=f"try {place:03}",
            session=f"session {plan.session_of(place)}",
            hold_tenths=600,
            angle_degrees=180,
            grade=3,
            faults=frozenset() if clean else frozenset({"swing"}),
        )
        for place, clean in enumerate(outcomes)
    )


def engine_passes(criterion: Criterion, outcomes: Sequence[bool], plan: Plan) -> bool:
    """Whether the engine finds the step ready at any moment up to the last try."""
    made = attempts_of(outcomes, plan)
    parents = {
        code: Timeline((Change(0, "passed", "passed", "", "", (), trouble=False),)) for code in steps_named(criterion)
    }
    gym = rules(step("hang", criterion, needs_sign_off=True), *(step(code) for code in parents))
    timeline = evaluate_step(gym, "hang", History(attempts=made), parents)
    ready_us = timeline.spans_where(lambda change: change.base == "ready").first_us()
    return ready_us is not None and ready_us <= made[-1].happened_us


def by_enumeration(criterion: Criterion, plan: Plan) -> list[float]:
    """The chances at all rates, from every sequence of outcomes there is."""
    every = list(product((True, False), repeat=plan.tries))
    passing = [sum(outcomes) for outcomes in every if engine_passes(criterion, outcomes, plan)]
    return [sum(rate**clean * (1 - rate) ** (plan.tries - clean) for clean in passing) for rate in RATES]


def of_one_kind(criterion: Criterion) -> Criterion:
    """The same tree about holds alone, so that one try can be all that every leaf looks at."""
    match criterion:
        case AllOf() | AnyOf() | AtLeastOf():
            return replace(criterion, conditions=tuple(map(of_one_kind, criterion.conditions)))
        case RepsOf():
            return HoldsOf(criterion.count, 50, criterion.counting)
        case LastOf() | BestOf() | ReliabilityOf():
            return replace(criterion, target=HOLD)
        case AngleOf():
            return replace(criterion, bound="at_least")
        case _:
            return criterion


@st.composite
def rules_and_plans(draw: st.DrawFn, most_tries: int = 7) -> tuple[Criterion, Plan]:
    def choose(options: Sequence[T], /) -> T:
        return options[draw(st.integers(0, len(options) - 1))]

    plan = Plan(draw(st.integers(1, most_tries)), draw(st.integers(1, 4)), draw(st.integers(1, 3)))
    return of_one_kind(deal_criterion(choose, ("arch",), 2)), plan


@settings(max_examples=60)
@given(rules_and_plans())
def test_the_curve_is_the_engine_over_every_sequence_of_outcomes(case):
    criterion, plan = case
    curve = curve_of(criterion, plan)
    assert curve.method != "simulation"
    assert chances(curve) == pytest.approx(by_enumeration(criterion, plan), abs=1e-9)


EDGES: dict[str, tuple[Criterion, Plan]] = {
    "a window that a miss leaves": (reliable(60, window_days=2), Plan(7, 2, 1)),
    "a window that a miss leaves between sessions": (reliable(60, window_days=4), Plan(8, 3, 6)),
    "a window over three sessions": (holds(3, window_days=3, sessions=2), Plan(9, 2, 1)),
    "the last few within a window": (last(3, 4, window_days=2, dates=2), Plan(9, 2, 1)),
    "the last few over sessions": (last(3, 5, sessions=3), Plan(9, 2, 1)),
    "both at once": (AllOf((last(2, 3), holds(3, window_days=3))), Plan(9, 2, 2)),
    "two of three": (AtLeastOf(2, (last(3, 3), holds(4), reliable(50, 4))), Plan(9, 3, 1)),
    "clean or not": (AnyOf((last(3, 3), HoldsOf(6, 50, Counting(clean=False)))), Plan(8, 3, 1)),
    "never": (holds(3, sessions=3), Plan(9, 5, 1)),
    "another step alone": (StepPassed("arch"), Plan(2, 1, 1)),
    "another step and a run": (AllOf((StepPassed("arch"), last(2, 2))), Plan(5, 2, 1)),
}


@pytest.mark.parametrize("name", EDGES)
def test_at_the_edges_too(name):
    criterion, plan = EDGES[name]
    assert chances(curve_of(criterion, plan)) == pytest.approx(by_enumeration(criterion, plan), abs=1e-9)


# ---- Properties --------------------------------------------------------------------------------------------------


@settings(max_examples=60)
@given(rules_and_plans(most_tries=40))
def test_chances_are_chances_and_never_fall_as_the_rate_rises(case):
    found = chances(curve_of(*case))
    assert all(0 <= chance <= 1 for chance in found)
    assert all(more >= less - 1e-12 for less, more in pairwise(found))


@settings(max_examples=30)
@given(rules_and_plans(most_tries=30))
def test_more_tries_never_pass_fewer(case):
    criterion, plan = case
    more = curve_of(criterion, replace(plan, tries=plan.tries + 1))
    if "simulation" not in {more.method, curve_of(criterion, plan).method}:
        pairs = zip(chances(curve_of(criterion, plan)), chances(more), strict=True)
        assert all(longer >= shorter - 1e-12 for shorter, longer in pairs)


# ---- Simulation --------------------------------------------------------------------------------------------------


def simulated(criterion: Criterion, plan: Plan) -> Curve:
    return Curve(tuple(operating_curve._simulated(PlannedRule.of(criterion, plan), RATES)), "simulation")


EXACT: dict[str, tuple[Criterion, Plan]] = {
    **{name: edge for name, edge in EDGES.items() if name != "another step alone"},
    "three in any order": (holds(3), Plan(20, 4, 3)),
    "eight of the last ten": (last(8, 10), Plan(40, 4, 3)),
    "uneven sessions": (last(4, 5, sessions=2), Plan(23, 7, 1)),
}


@pytest.mark.parametrize("name", EXACT)
def test_the_simulation_agrees_with_the_exact_figure_within_its_stated_error(name):
    exact, estimate = curve_of(*EXACT[name]), simulated(*EXACT[name])
    assert exact.method != "simulation"
    for sure, guess in zip(exact.points, estimate.points, strict=True):
        assert guess.standard_error is not None
        # 17 rules at 18 rates: five standard errors leave one false alarm in thousands of such tables.
        assert abs(sure.chance - guess.chance) < 5 * guess.standard_error


def test_a_rule_that_remembers_too_much_is_simulated_with_its_error_stated():
    curve = curve_of(last(15, 20), Plan(60, 4, 3))
    assert curve.method == "simulation"
    errors = [point.standard_error for point in curve.points]
    assert all(error is not None and 0 < error <= 0.5 / SAMPLES**0.5 for error in errors)
    assert chances(curve) == sorted(chances(curve))


@pytest.mark.parametrize("rule", [last(15, 20), last(8, 10), holds(3)], ids=["simulation", "chain", "formula"])
def test_the_same_question_gets_the_same_answer_to_the_last_digit(rule):
    curve_of.cache_clear()
    once = curve_of(rule, Plan(40, 4, 3))
    curve_of.cache_clear()
    assert curve_of(rule, Plan(40, 4, 3)) == once


# ---- Plans -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("plan", [(0, 1, 1), (201, 1, 1), (1, 0, 1), (1, 201, 1), (1, 1, 0), (1, 1, 91), (-1, -1, -1)])
def test_a_plan_out_of_bounds_is_refused(plan):
    with pytest.raises(ValueError, match=r"tries|apart"):
        Plan(*plan)


def test_a_plan_has_one_session_a_day():
    plan = Plan(7, 3, 4)
    assert [plan.session_of(place) for place in range(7)] == [0, 0, 0, 1, 1, 1, 2]
    assert [plan.day_of(place) for place in range(7)] == [0, 0, 0, 4, 4, 4, 8]
