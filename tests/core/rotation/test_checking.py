"""The check finds what is wrong with a plan that somebody spoiled, rule by rule, and nothing in one that holds."""

from dataclasses import replace

import pytest

from skills.core.rotation.asks import Apart, Ask, Choice, Person, Pin, Place, Plan, Post, Seat, Station
from skills.core.rotation.checking import Broken, broken_rules, worth_of
from skills.core.rotation.solving import best_plan
from tests.core.rotation.classes import gyms

TUCK = Choice("tuck", "in_hand", (Place("high"),))
LOW = Choice("low", "in_hand", (Place("low", 3), Place("low", 4)), spotters=1, inverted=True)
TEST = Choice("tuck", "test", (Place("high"),))
FREE = Choice("turn", "earlier", (Place("high"),), inverted=True)
PEOPLE = tuple(Person(key, (TUCK, LOW, TEST, FREE)) for key in "abcd")
STATIONS = (Station("high", 2), Station("low", 2, adjustable=True))
ASK = Ask(PEOPLE, STATIONS, rotations=2, coaches=2, judges=1, watched_at_once=1, most_resets=0)


def seat(person: str, rotation: int = 0, choice: int = 0, station: str = "high", hole: int | None = None) -> Seat:
    return Seat(rotation, person, choice, station, hole)


def plan(*seats: Seat, posts: tuple[Post, ...] = (), holes: dict | None = None) -> Plan:
    return Plan(seats, holes or {(0, "low"): 3, (1, "low"): 3}, posts, 0, 0, "stopped")


SPOT = Post(0, "low", "spots")
WATCH = Post(0, "high", "watches")


@pytest.mark.parametrize(
    ("rule", "at", "spoiled"),
    [
        ("in two places at once", "a", plan(seat("a"), seat("a", choice=1, station="low", hole=3), posts=(SPOT,))),
        ("not a choice of theirs", "a", plan(seat("a", station="low", hole=3))),
        ("not a choice of theirs", "a", plan(seat("a", choice=7))),
        ("more people than places", "high", plan(seat("a"), seat("b"), seat("c"))),
        ("two heights of one bar", "low", plan(seat("a", choice=1, station="low", hole=4), posts=(SPOT,))),
        ("more to spot than hands", "low", plan(seat("a", choice=1, station="low", hole=3))),
        ("an inversion without a coach", "high", plan(seat("a", choice=3))),
        ("a test without a coach who watches", "high", plan(seat("a", choice=2), seat("b", choice=2), posts=(WATCH,))),
        ("more coaches than there are", "", plan(posts=(Post(0, "low", "spots", 3),))),
        ("more coaches who judge than there are", "", plan(posts=(Post(0, "high", "watches", 2),))),
    ],
)
def test_a_rule_that_is_broken_in_a_rotation_is_named_with_its_place(rule, at, spoiled):
    assert Broken(rule, 0, at) in broken_rules(ASK, spoiled)


@pytest.mark.parametrize(
    ("rule", "change", "spoiled"),
    [
        ("kept apart, yet together", {"apart": (Apart("a", "b"),)}, plan(seat("a"), seat("b"))),
        ("not there", {"people": PEOPLE[1:]}, plan(seat("a"))),
        ("not where the coach put them", {"pins": (Pin("a", 0, "high"),)}, plan(seat("b"))),
        ("not there", {"people": (replace(PEOPLE[0], comes=1), *PEOPLE[1:])}, plan(seat("a"))),
        ("more re-sets than allowed", {}, plan(holes={(0, "low"): 3, (1, "low"): 4})),
        (
            "more re-sets than allowed",
            {"stations": (STATIONS[0], replace(STATIONS[1], hole=4))},
            plan(holes={(0, "low"): 3, (1, "low"): 3}),
        ),
        (
            "tested twice",
            {},
            plan(seat("a", 0, 2), seat("a", 1, 2), posts=(WATCH, Post(1, "high", "watches"))),
        ),
        (
            "tested twice",
            {"people": (replace(PEOPLE[0], had=((2, 1),)), *PEOPLE[1:])},
            plan(seat("a", 0, 2), posts=(WATCH,)),
        ),
    ],
)
def test_a_rule_of_the_coach_or_the_class_that_is_broken_is_named(rule, change, spoiled):
    assert rule in {broken.rule for broken in broken_rules(replace(ASK, **change), spoiled)}


def test_a_plan_that_keeps_every_rule_is_let_through():
    held = plan(seat("a", choice=1, station="low", hole=3), seat("b", choice=2), posts=(SPOT, WATCH))
    assert broken_rules(ASK, held) == ()


def test_who_spots_does_not_watch():
    both = plan(seat("a", choice=1, station="low", hole=3), seat("b", choice=2), posts=(SPOT, WATCH))
    assert broken_rules(replace(ASK, coaches=1), both) == (Broken("more coaches than there are", 0, ""),)


def test_worth_is_counted_from_the_seats_alone():
    ask = gyms(5, people=12, rotations=4, stations=6, adjustable=2)
    made = best_plan(ask)
    lied = replace(made, worth=made.worth + 1_000, bound=0)
    assert worth_of(ask, lied) == made.worth


def test_the_worth_of_a_plan_by_hand():
    # Two rotations of the step in hand (60 + 100, 60 + 70), one rotation idle for b (0), one practised (60 + 100).
    ask = replace(ASK, people=PEOPLE[:2])
    assert worth_of(ask, plan(seat("a"), seat("a", 1), seat("b"))) == 290 + 160 - 0
    # Idle twice costs 20; an inversion in the second rotation costs 3; a bar a hole off costs 2.
    assert worth_of(replace(ask, people=PEOPLE[:1]), plan()) == -20
