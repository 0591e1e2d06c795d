"""Which conditions are monotone: a further attempt never takes anything away, whenever it happened or arrived."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from skills.core.conditions import AllOf, AnyOf, AtLeastOf, Criterion, LastOf, ReliabilityOf, attempt_leaves, succeeds
from skills.core.counted import Counted, counted_attempts
from skills.core.facts import Attempt, History
from skills.core.gathering import Gathering, gather
from skills.core.spans import ALWAYS, NEVER
from skills.core.steps import Rules
from tests.core.notebook import attempts, rules, step
from tests.strategies import (
    CLOCK_CHANGES,
    Choose,
    crowded,
    deal_angle,
    deal_attempt,
    deal_best,
    deal_criterion,
    deal_holds,
    deal_last,
    deal_reliability,
    deal_reps,
    grid,
)

T = TypeVar("T")
patient = settings(max_examples=150, deadline=None)
Deal = Callable[[Choose], Criterion]
MONOTONE: tuple[Deal, ...] = (deal_holds, deal_reps, deal_best, deal_angle)
NOT_MONOTONE: tuple[Deal, ...] = (deal_last, deal_reliability)


def choosing(data: st.DataObject) -> Choose:
    def choose(options: Sequence[T], /) -> T:
        return options[data.draw(st.integers(0, len(options) - 1))]

    return choose


def deal_attempts(choose: Choose) -> tuple[str, list[Attempt]]:
    """The zone, and up to ten tries of which the last one is the further one."""
    zone, middle = choose(CLOCK_CHANGES)
    moments = crowded(choose, grid(zone, middle, 8))
    tries = [deal_attempt(choose, f"a{number}", ("a",), moments) for number in range(choose(range(1, 11)))]
    return zone, [replace(each, closed_try=False) for each in tries]


def gathered(criterion: Criterion, tries: Sequence[Attempt], zone: str) -> Gathering:
    return gather(criterion, counted(tries, zone), zone, {})


def counted(tries: Sequence[Attempt], zone: str) -> tuple[Counted, ...]:
    return counted_attempts(step("a"), History(attempts=tuple(tries)), zone, ALWAYS, NEVER)


def edges(gatherings: Sequence[Gathering], tries: Sequence[Attempt]) -> list[int]:
    """All moments at which anything changes, and those beside them."""
    found = {edge for each in gatherings for edge in each.met.edges()} | {each.happened_us for each in tries}
    return sorted({us + beside for us in found for beside in (-1, 0, 1)})


def assert_nothing_is_taken_away(criterion: Criterion, tries: Sequence[Attempt], zone: str) -> None:
    before, after = gathered(criterion, tries[:-1], zone), gathered(criterion, tries, zone)
    assert (before.met & after.met) == before.met
    for us in edges((before, after), tries):
        had, has = ([each.have for each in one.progress_at(us)] for one in (before, after))
        assert all(old <= new for old, new in zip(had, has, strict=True))


def deal_tree(choose: Choose, leaf: Deal, depth: int = 2) -> Criterion:
    kind = choose(("leaf", "all", "any", "at_least")) if depth else "leaf"
    if kind == "leaf":
        return leaf(choose)
    parts = tuple(deal_tree(choose, leaf, depth - 1) for _ in range(choose((2, 1, 3))))
    if kind == "at_least":
        return AtLeastOf(choose(range(1, len(parts) + 1)), parts)
    return AllOf(parts) if kind == "all" else AnyOf(parts)


@patient
@given(st.data())
def test_no_attempt_takes_anything_away_from_holds_reps_best_and_angle_nor_from_trees_of_them(data):
    choose = choosing(data)
    zone, tries = deal_attempts(choose)
    tree = deal_tree(choose, lambda choose: choose(MONOTONE)(choose))
    assert_nothing_is_taken_away(tree, tries, zone)


def widely(criterion: Criterion) -> Criterion:
    """The same leaf, spread over one session and one date."""
    assert isinstance(criterion, LastOf | ReliabilityOf)
    return replace(criterion, counting=replace(criterion.counting, sessions=1, dates=1))


@patient
@given(st.data())
def test_no_success_takes_anything_away_from_last_and_reliability_nor_from_trees_of_them(data):
    choose = choosing(data)
    zone, tries = deal_attempts(choose)
    tree = deal_tree(choose, lambda choose: widely(choose(NOT_MONOTONE)(choose)))
    asked = [*attempt_leaves(tree)]
    if all(succeeds(leaf, tries[-1]) for leaf in asked):
        assert_nothing_is_taken_away(tree, tries, zone)
    else:
        # A success for one leaf alone takes nothing away from that leaf.
        for leaf in (leaf for leaf in asked if succeeds(leaf, tries[-1])):
            assert_nothing_is_taken_away(leaf, tries, zone)


@patient
@given(st.data())
def test_an_attempt_that_no_leaf_looks_at_changes_nothing(data):
    choose = choosing(data)
    zone, tries = deal_attempts(choose)
    tree = deal_criterion(choose, (), 2)
    other = replace(tries[-1], source="own", assistance="a hand that nobody allows", angle_degrees=None)
    before, after = gathered(tree, tries[:-1], zone), gathered(tree, [*tries[:-1], other], zone)
    assert before.met == after.met
    assert [before.lacks_at(us) for us in edges((before,), tries)] == [
        after.lacks_at(us) for us in edges((before,), tries)
    ]


BERLIN: Rules = rules(step("a"))
LAST_TWO = {"last": {"clean": 2, "of": 2, "seconds": 5}}
HALF = {"reliability": {"percent": 50, "confidence": 90, "seconds": 5}}
TWO_SESSIONS = {"last": {"clean": 2, "of": 2, "seconds": 5, "sessions": 2}}


@pytest.mark.parametrize(
    ("rule", "notes", "further"),
    [
        # A later miss, and a clean hold that is too short is one.
        (LAST_TWO, ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s"], "2 Mar 18:02, 5 s, fault"),
        (LAST_TWO, ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s"], "2 Mar 18:02, 4.9 s"),
        # Three of three show 52 %, three of four 35 % (90 % interval, Newcombe 1998): wherever the miss falls.
        (HALF, ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s", "2 Mar 18:02, 5 s"], "2 Mar 18:03, 4.9 s"),
        (HALF, ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s", "2 Mar 18:02, 5 s"], "2 Mar 17:00, 5 s, fault"),
        # A success pushes the only try of another session out.
        (TWO_SESSIONS, ["2 Mar 18:00, 5 s, session A", "2 Mar 19:00, 5 s, session B"], "2 Mar 19:01, 5 s, session B"),
    ],
)
def test_what_last_and_reliability_may_lose(rule, notes, further):
    criterion = step("a", rule).criteria[0].criterion
    before, after = (gathered(criterion, attempts(*written), BERLIN.zone) for written in (notes, [*notes, further]))
    us = max(each.happened_us for each in attempts(*notes, further))
    assert before.met.covers(us)
    assert not after.met.covers(us)
