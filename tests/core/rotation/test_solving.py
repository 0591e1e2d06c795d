"""The class plan against everything tried, against a second solver, against a textbook, and against its own rules.

The textbook: Hillier and Lieberman, Introduction to Operations Research, the Job Shop Company: three machines, four
locations, least total cost 29 (figures from memory; scipy's assignment solver says the same of them).
"""

from dataclasses import replace

import pytest
from scipy.optimize import linear_sum_assignment

from skills.core.rotation.asks import Ask, BadAskError, Choice, Person, Place, Plan, Station
from skills.core.rotation.checking import broken_rules, idle_of, resets_of, worth_of
from skills.core.rotation.highs import InfeasibleError
from skills.core.rotation.solving import Effort, best_plan
from skills.core.rotation.weights import Weights
from tests.core.rotation import brute, second
from tests.core.rotation.classes import gyms, small

TO_THE_END = Effort(gap=0.0, nodes=100_000, seconds=120.0)


def best_or_none(ask: Ask) -> int | None:
    """The same, None where no plan keeps the rules."""
    try:
        return best(ask)
    except InfeasibleError:
        return None


def best(ask: Ask) -> int:
    """What the best plan is worth, after it has passed the check and its worth was counted again."""
    plan = best_plan(ask, TO_THE_END)
    assert broken_rules(ask, plan) == ()
    assert worth_of(ask, plan) == plan.worth
    assert plan.proof == "optimal"
    return plan.worth


@pytest.mark.parametrize("seed", range(120))
def test_equals_what_trying_everything_finds(seed):
    ask = small(seed, people=3)
    assert best_or_none(ask) == brute.best_worth(ask)


def _whole(seed: int) -> bool:
    """Whether the class of this seed has five people and three stations, and few enough plans to try them all."""
    ask = small(seed)
    return (len(ask.people), len(ask.stations)) == (5, 3) and 1_000 <= brute.ways(ask) <= 200_000


@pytest.mark.parametrize("seed", [seed for seed in range(3_000, 6_000) if _whole(seed)])
def test_equals_what_trying_everything_finds_for_five_people_at_three_stations(seed):
    ask = small(seed)
    assert best_or_none(ask) == brute.best_worth(ask)


@pytest.mark.parametrize("seed", range(220))
def test_equals_a_second_solver(seed):
    ask = small(2_000 + seed, people=8, rotations=3, stations=4)
    assert best_or_none(ask) == second.best_worth(ask)


@pytest.mark.parametrize("seed", range(4))
def test_equals_a_second_solver_on_a_class_of_ten(seed):
    ask = gyms(seed, people=10, rotations=3, stations=5, adjustable=1)
    assert best_or_none(ask) == second.best_worth(ask)


def test_a_textbooks_assignment():
    costs = {"machine 1": (13, 16, 12, 11), "machine 2": (15, None, 13, 20), "machine 3": (5, 7, 10, 6)}
    weights = Weights(practising=100, misfit=1, in_hand=(0,), idle_again=(1_000,))
    ask = Ask(
        tuple(Person(key, (Choice("run", "in_hand", _priced(row)),)) for key, row in costs.items()),
        tuple(Station(f"location {number}", 1) for number in range(4)),
        rotations=1,
        weights=weights,
    )
    assert 300 - best(ask) == 29
    table = [[99 if cost is None else cost for cost in row] for row in costs.values()]
    rows, columns = linear_sum_assignment(table)
    assert sum(table[row][column] for row, column in zip(rows, columns, strict=True)) == 29


def _priced(row):
    return tuple(Place(f"location {n}", misfit=cost) for n, cost in enumerate(row) if cost is not None)


@pytest.mark.parametrize("seed", range(8))
def test_a_class_of_twelve_is_within_a_hundredth_and_keeps_every_rule(seed):
    ask = gyms(seed, people=12, rotations=4, stations=6, adjustable=2)
    plan = best_plan(ask)
    assert broken_rules(ask, plan) == ()
    assert worth_of(ask, plan) == plan.worth
    assert plan.proof in {"optimal", "within"}
    assert plan.gap <= 0.01
    assert resets_of(ask, plan) <= 1


def test_the_same_ask_gives_the_same_plan():
    ask = gyms(3, people=12, rotations=4, stations=6, adjustable=2, most_resets=None)
    assert best_plan(ask) == best_plan(ask)


def test_a_loose_bound_is_said_and_the_plan_is_kept():
    ask = gyms(1, people=24, rotations=5, stations=8, adjustable=3, most_resets=None)
    plan = best_plan(ask, Effort(gap=0.0, nodes=1))
    assert broken_rules(ask, plan) == ()
    assert (plan.proof, plan.worth < plan.bound) == ("stopped", True)


def test_one_more_coach_is_never_worth_less():
    ask = gyms(1, people=12, rotations=4, stations=6, adjustable=1)
    assert best(replace(ask, coaches=2)) >= best(ask)


def test_alike_people_share_what_is_scarce_evenly():
    bar = (Choice("tuck", "in_hand", (Place("bar"),)), Choice("hollow", "accessory", (Place("floor"),)))
    ask = Ask(tuple(Person(f"p{n}", bar) for n in range(6)), (Station("bar", 2), Station("floor", 4)), rotations=3)
    plan = best_plan(ask, TO_THE_END)
    times = [sum(seat.person == key and seat.station == "bar" for seat in plan.seats) for key in ask.person]
    assert times == [1] * 6


def test_nobody_stands_idle_where_there_is_room():
    ask = gyms(2, people=12, rotations=4, stations=6, adjustable=2)
    assert idle_of(ask, best_plan(ask)) == 0


def test_a_first_try_that_wants_two_spotters_is_not_planned_with_one_coach():
    over = Choice("over", "in_hand", (Place("bar"),), spotters=2, inverted=True)
    ask = Ask((Person("p", (over,)),), (Station("bar", 1),), rotations=1, coaches=1)
    assert best_plan(ask).seats == ()
    assert len(best_plan(replace(ask, coaches=2)).seats) == 1


def test_who_leaves_and_who_comes_late_have_no_seat_while_away():
    does = (Choice("tuck", "in_hand", (Place("bar"),)),)
    ask = Ask((Person("late", does, comes=1), Person("early", does, goes=1)), (Station("bar", 2),), rotations=2)
    assert {(seat.person, seat.rotation) for seat in best_plan(ask).seats} == {("late", 1), ("early", 0)}


def test_planning_again_moves_nobody_without_need():
    ask = gyms(4, people=12, rotations=4, stations=6, adjustable=1)
    plan = best_plan(ask)
    gone = next(iter(ask.person))
    left = replace(ask, people=tuple(p if p.key != gone else replace(p, goes=2) for p in ask.people))
    again = best_plan(replace(left, before=plan.seats))
    kept = {(seat.person, seat.rotation) for seat in again.seats if seat in plan.seats}
    others = [seat for seat in plan.seats if seat.person != gone]
    assert len([seat for seat in others if (seat.person, seat.rotation) in kept]) >= 0.9 * len(others)


def test_a_class_of_nobody_has_an_empty_plan():
    assert best_plan(Ask((), (Station("bar", 1),), rotations=1)) == Plan((), {}, (), 0, 0, "optimal")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rotations": 0}, "at least one rotation"),
        ({"stations": (Station("bar", 1), Station("bar", 2))}, "named twice"),
        ({"people": (Person("p", (Choice("tuck", "in_hand", (Place("moon"),)),)),)}, "no station"),
        ({"people": (Person("p", (Choice("tuck", "in_hand", (Place("bar", 3),)),)),)}, "hole"),
    ],
)
def test_an_ask_that_cannot_be_meant_is_refused_in_words(change, words):
    ask = Ask((), (Station("bar", 1),), rotations=1)
    with pytest.raises(BadAskError, match=words):
        replace(ask, **change)
