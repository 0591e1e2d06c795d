"""A class asked anew has one more of what was asked for and nothing else; a plan adds up to minutes by hand."""

from dataclasses import replace

import pytest

from skills.core.rotation.asks import Ask, Choice, Person, Place, Plan, Seat, Station
from skills.core.rotation.checking import broken_rules, idle_of
from skills.core.rotation.solving import Effort, best_plan
from skills.core.rotation.what_if import (
    MEASURES,
    ONE_MORE,
    Change,
    Minutes,
    NothingToChangeError,
    Pair,
    Practice,
    changed,
    effect,
    practice_of,
)
from tests.core.rotation.classes import gyms

LOW = Choice("pull", "in_hand", (Place("low", 3, 1), Place("low", 4)))
FLOOR = Choice("hollow", "accessory", (Place("floor"),))
TWELVE = Ask(
    tuple(Person(f"p{number:02}", (LOW, FLOOR)) for number in range(12)),
    (Station("low", 2, adjustable=True, hole=4), Station("floor", 3)),
    rotations=3,
)
TO_THE_END = Effort(gap=0.0, nodes=100_000, seconds=120.0)


def test_one_more_low_bar_stands_free_and_serves_whom_the_first_one_serves():
    more = changed(TWELVE, Change(low_bar=True), bar="low")
    assert more.stations == (*TWELVE.stations, Station(ONE_MORE, 2, adjustable=True))
    low, floor = more.people[0].choices
    assert low.places == (*LOW.places, Place(ONE_MORE, 3, 1), Place(ONE_MORE, 4))
    assert floor == FLOOR
    assert (more.coaches, len(more.people)) == (TWELVE.coaches, 12)


@pytest.mark.parametrize(("size", "more"), [(1, 2), (2, 3), (3, 4), (6, 8), (10, 13), (12, 16), (16, 21)])
def test_a_third_more_people_are_taken_from_the_class_at_even_distances(size, more):
    ask = gyms(5, people=size, rotations=3, stations=5, adjustable=1)
    grown = changed(ask, Change(people=True), bar=None)
    assert grown.people[:size] == ask.people
    added = grown.people[size:]
    assert len(grown.people) == more
    by_choices = {person.key: person for person in ask.people}
    drawn = [person.key.removesuffix(" again") for person in added]
    assert [replace(person, key=key) for person, key in zip(added, drawn, strict=True)] == [
        by_choices[k] for k in drawn
    ]
    assert len(set(drawn)) == len(drawn)
    assert drawn == sorted(drawn)
    assert changed(ask, Change(people=True), bar=None) == grown


def test_of_twelve_every_third_is_counted_twice():
    grown = changed(TWELVE, Change(people=True), bar=None)
    assert [person.key for person in grown.people[12:]] == ["p01 again", "p04 again", "p07 again", "p10 again"]


@pytest.mark.parametrize(("judges", "then"), [(0, 0), (1, 2)])
def test_a_second_coach_may_do_what_the_first_one_may(judges, then):
    two = changed(replace(TWELVE, judges=judges), Change(coach=True), bar=None)
    assert (two.coaches, two.judges) == (2, then)
    assert two.people == TWELVE.people


def test_a_class_of_nobody_stays_one():
    assert changed(replace(TWELVE, people=()), Change(people=True), bar=None).people == ()


def test_what_cannot_be_changed_is_said():
    with pytest.raises(NothingToChangeError, match="at least one thing"):
        Change()
    with pytest.raises(NothingToChangeError, match="No low bar"):
        changed(TWELVE, Change(low_bar=True), bar=None)


@pytest.mark.parametrize("change", [Change(low_bar=True), Change(coach=True), Change(low_bar=True, coach=True)])
@pytest.mark.parametrize("seed", range(4))
def test_more_bars_and_coaches_are_never_worth_less(change, seed):
    ask = gyms(seed, people=10, rotations=3, stations=5, adjustable=1)
    more = changed(ask, change, bar="low-0")
    before, after = best_plan(ask, TO_THE_END), best_plan(more, TO_THE_END)
    assert broken_rules(more, after) == ()
    assert after.worth >= before.worth


def test_all_three_together_keep_every_rule():
    ask = gyms(2, people=12, rotations=4, stations=6, adjustable=2)
    more = changed(ask, Change(low_bar=True, people=True, coach=True), bar="low-1")
    assert (len(more.people), more.coaches, len(more.stations)) == (16, 2, 7)
    assert broken_rules(more, best_plan(more)) == ()


def test_minutes_by_hand():
    # Three people, two rotations of 10 min. One is idle in the first (10 min). The bar is set anew before the second:
    # the two there wait for it, 3 min each; one of them is at the step in hand.
    people = (Person("a", (LOW, FLOOR)), Person("b", (replace(LOW, role="earlier"), FLOOR)), Person("c", (FLOOR,)))
    ask = replace(TWELVE, people=people, rotations=2)
    seats = (
        Seat(0, "a", 0, "low", 4),
        Seat(0, "b", 1, "floor"),
        Seat(1, "a", 0, "low", 3),
        Seat(1, "b", 0, "low", 3),
        Seat(1, "c", 0, "floor"),
    )
    plan = Plan(seats, {(0, "low"): 4, (1, "low"): 3}, (), 7, 9, "stopped")
    assert broken_rules(ask, plan) == ()
    assert idle_of(ask, plan) == 1
    assert practice_of(ask, plan, Minutes(rotation=10, reset=3)) == Practice(
        people=3,
        idle_minutes=10 + 2 * 3,
        in_hand_rotations=2,
        in_hand_minutes=2 * 10 - 3,
        resets=1,
        worth=7,
        bound=9,
    )


def test_a_bar_set_before_the_class_keeps_nobody_waiting():
    ask = replace(TWELVE, people=TWELVE.people[:1], rotations=1)
    plan = Plan((Seat(0, "p00", 0, "low", 3),), {(0, "low"): 3}, (), 0, 0, "stopped")
    found = practice_of(ask, plan, Minutes(10, 3))
    assert (found.idle_minutes, found.in_hand_minutes, found.resets) == (0, 10, 1)


def practice(people: int, idle: int, resets: int = 0) -> Practice:
    return Practice(people, idle, idle // 10, idle, resets, 0, 0)


def test_an_effect_is_a_share_over_everybody_with_the_least_and_the_most_of_a_class():
    pairs = [Pair(practice(2, 20), practice(2, 0, 1)), Pair(practice(8, 20), practice(8, 40))]
    idle = effect("idle_minutes", pairs)
    assert (idle.before, idle.after, idle.difference) == (4.0, 4.0, 0.0)
    assert (idle.least, idle.most) == (-10.0, 2.5)
    resets = effect("resets", pairs)
    assert (resets.before, resets.after, resets.least, resets.most) == (0.0, 0.5, 0.0, 1.0)


def test_without_a_class_nothing_has_an_effect():
    for name in MEASURES:
        with pytest.raises(ValueError, match="Without a class"):
            effect(name, [])
