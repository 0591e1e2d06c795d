"""The engine against criteria in SQL: 10,000 random histories, each asked at every moment that could matter."""

import random

import pytest

from skills.core.criteria import Criterion
from skills.core.facts import History, Void
from skills.core.readiness import evaluate
from skills.core.steps import CriterionInForce, Rules, StepRule
from skills.core.timeline import Timeline
from tests.sql.asking import Answer, Asked, ask
from tests.strategies import CLOCK_CHANGES, LEAVES, Choose, crowded, deal_attempt, deal_criterion, grid, names

pytestmark = [pytest.mark.postgresql_only, pytest.mark.django_db]

BATCHES, IN_A_BATCH = 10, 1000
MOST_TRIES = 14
KINDS = {"holds", "reps", "best", "last", "angle", "reliability"}
# The server reads the machine's time zone files, which may be of another year than the pinned ones: Havana's
# clocks in November 2025 differ between them.
CHANGES = tuple(change for change in CLOCK_CHANGES if change[0] != "America/Havana")


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_step_is_ready_exactly_while_sql_says_that_its_criterion_is_met(batch: int) -> None:
    seeds = range(batch * IN_A_BATCH, (batch + 1) * IN_A_BATCH)
    dealt = [_deal(seed) for seed in seeds]

    answers, counted = ask([asked for asked, _ in dealt])

    wrong = [seed for seed, (_, line), answer in zip(seeds, dealt, answers, strict=True) if _differ(line, answer)]
    assert wrong == []
    assert {*counted} >= KINDS | {"all", "any", "at_least"}
    assert all(met > asked // 10 for met, asked in counted.values()), counted
    assert sum(any(met for _, met in answer) for answer in answers) > IN_A_BATCH // 3
    assert sum(any(not met for _, met in answer) for answer in answers) > IN_A_BATCH // 2


def _differ(timeline: Timeline, answer: Answer) -> bool:
    return any((timeline.at(us).state == "ready") != met for us, met in answer)


def _deal(seed: int) -> tuple[Asked, Timeline]:
    """A criterion and tries, some of them void or at a closed step, and what the engine makes of them.

    The step is open, and a coach's decision is asked and never given: it is ready exactly while its criterion is met.
    """
    choose: Choose = random.Random(seed).choice
    zone, middle = choose(CHANGES)
    criterion = _criterion(choose)
    moments = crowded(choose, grid(zone, middle, 8))
    tries = [deal_attempt(choose, name, ("hang",), moments) for name in names(choose, "a", MOST_TRIES)]
    void = {attempt.id for attempt in tries if choose((False,) * 9 + (True,))}
    voids = tuple(Void(name, choose(moments), choose(moments)) for name in sorted(void))
    timeline = _timeline(criterion, History(attempts=tuple(tries), voids=voids), zone)
    standing = [attempt for attempt in tries if attempt.id not in void and not attempt.closed_try]
    return Asked(criterion, standing, zone, [change.from_us for change in timeline.changes[1:]]), timeline


def _criterion(choose: Choose) -> Criterion:
    """Mostly a leaf of each kind in turn, else a tree of them."""
    return choose(LEAVES)(choose) if choose((True, False)) else deal_criterion(choose, (), 2)


def _timeline(criterion: Criterion, history: History, zone: str) -> Timeline:
    step = StepRule(
        code="hang",
        requires=(),
        asks_clearance=False,
        needs_sign_off=True,
        recheck_days=None,
        loads=frozenset(),
        inverted=False,
        criteria=(CriterionInForce(1, 0, criterion),),
    )
    return evaluate(Rules({"hang": step}, zone), history, 0).steps["hang"].timeline
