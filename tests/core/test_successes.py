"""What a rule that counts successes alone need not read: misses change nothing of how it stands."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from skills.core.conditions import Branch, Criterion, HoldsOf, HoldTarget, RepsOf, StepPassed, target_of
from skills.core.criteria import parse
from skills.core.facts import History
from skills.core.readiness import evaluate
from skills.core.steps import CriterionInForce, Rules
from skills.core.successes import Least, least_of
from tests.core.notebook import attempt, step
from tests.strategies import DAY_US, Case, cases, random_case


def counting_alone(criterion: Criterion) -> Criterion:
    """The same tree, with every leaf that tells of misses put in the words of one that counts."""
    if isinstance(criterion, Branch):
        return replace(criterion, conditions=tuple(counting_alone(each) for each in criterion.conditions))
    if isinstance(criterion, (StepPassed, HoldsOf, RepsOf)):
        return criterion
    target = target_of(criterion)
    if isinstance(target, HoldTarget):
        return HoldsOf(2, target.tenths, criterion.counting)
    return RepsOf(2, getattr(target, "reps", 1), unbroken=False, counting=criterion.counting)


def of_counts(case: Case) -> Rules:
    steps = {
        code: replace(
            rule, criteria=tuple(replace(each, criterion=counting_alone(each.criterion)) for each in rule.criteria)
        )
        for code, rule in case.rules.steps.items()
    }
    return Rules(steps, case.rules.zone)


def telling(rules: Rules, history: History) -> History:
    least = {code: least_of(rule) for code, rule in rules.steps.items()}
    told = [each for each in history.attempts if (floor := least[each.step]) is None or floor.allows(each)]
    return replace(history, attempts=tuple(told))


def left_out(case: Case) -> int:
    rules = of_counts(case)
    return len(case.history.attempts) - len(telling(rules, case.history).attempts)


@settings(max_examples=250, deadline=None)
@given(cases(), st.integers(-10 * DAY_US, 20 * DAY_US))
def test_without_the_misses_everything_stands_as_with_them(case: Case, later_us: int):
    rules = of_counts(case)
    as_of_us = max((each.happened_us for each in case.history.attempts), default=0) + later_us
    assert evaluate(rules, telling(rules, case.history), as_of_us) == evaluate(rules, case.history, as_of_us)


@settings(max_examples=100, deadline=None)
@given(cases(), st.integers(0, 5 * DAY_US))
def test_a_rule_that_tells_of_misses_keeps_them_all(case: Case, later_us: int):
    as_of_us = max((each.happened_us for each in case.history.attempts), default=0) + later_us
    told = telling(case.rules, case.history)
    assert evaluate(case.rules, told, as_of_us) == evaluate(case.rules, case.history, as_of_us)


def test_the_cases_above_have_misses_to_leave_out():
    assert sum(left_out(random_case(seed)) > 0 for seed in range(50)) > 25


@pytest.mark.parametrize(
    ("written", "least"),
    [
        ({"holds": {"count": 3, "seconds": 5}}, Least(50, None, clean=True)),
        ({"holds": {"count": 3, "seconds": 1}}, Least(20, None, clean=True)),  # under 2 s nothing is a hold
        ({"reps": {"count": 3, "reps": 2}}, Least(None, 2, clean=True)),
        ({"holds": {"count": 1, "seconds": 5, "clean": False}}, Least(50, None, clean=False)),
        (
            {"any": [{"holds": {"count": 3, "seconds": 5}}, {"reps": {"count": 1, "reps": 4}}, {"step": "b"}]},
            Least(50, 4, clean=True),
        ),
        ({"best": {"seconds": 5}}, None),
        ({"last": {"clean": 3, "of": 5, "seconds": 5}}, None),
        ({"all": [{"holds": {"count": 3, "seconds": 5}}, {"best": {"seconds": 9}}]}, None),
        ({"step": "b"}, Least(None, None, clean=True)),
    ],
)
def test_the_least_that_a_success_is(written: dict[str, object], least: Least | None):
    assert least_of(replace(step("a"), criteria=(CriterionInForce(1, 0, parse(written)),))) == least


def test_of_several_versions_the_easiest_decides():
    versions = [
        CriterionInForce(number, number * DAY_US, parse({"holds": {"count": 1, "seconds": seconds, "clean": clean}}))
        for number, (seconds, clean) in enumerate([(20, True), (5, True), (10, False)])
    ]
    assert least_of(replace(step("a"), criteria=tuple(versions))) == Least(50, None, clean=False)


def test_a_hold_is_no_set_and_a_set_is_no_hold():
    hold = attempt("2 Mar 18:00, 5 x 10 s")
    assert Least(50, None, clean=True).allows(hold)
    assert not Least(None, 2, clean=True).allows(hold)
    assert not Least(50, None, clean=True).allows(replace(hold, hold_tenths=None))
    assert not Least(50, None, clean=True).allows(replace(hold, pain=True))
    assert Least(50, None, clean=False).allows(replace(hold, pain=True))
