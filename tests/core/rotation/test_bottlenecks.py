"""What holds a plan back, counted by hand on small classes."""

from skills.core.rotation.asks import Ask, Choice, Person, Place, Station
from skills.core.rotation.bottlenecks import Bottleneck, bottlenecks_of, nowhere
from skills.core.rotation.solving import best_plan

RINGS = Station("rings", 1)
BARS = (Station("bar 1", 1), Station("bar 2", 1))
FLOOR = Station("floor", 9)


def wants(key: str, *stations: str, spotters: int = 0, inverted: bool = False) -> Person:
    places = tuple(Place(each) for each in stations)
    return Person(key, (Choice("own", "in_hand", places, spotters, inverted),))


def necks(ask: Ask) -> tuple[Bottleneck, ...]:
    return bottlenecks_of(ask, best_plan(ask))


def test_three_want_the_rings_and_two_get_to_them():
    people = tuple(wants(key, "rings") for key in "abc")
    ask = Ask(people, (RINGS, FLOOR), rotations=2)
    (neck,) = necks(ask)
    assert (neck.stations, neck.places, neck.wanting, neck.led) == (("rings",), 1, ("a", "b", "c"), False)
    assert len(neck.never) == 1


def test_two_bars_that_serve_the_same_are_one_bottleneck():
    people = tuple(wants(key, "bar 1", "bar 2") for key in "abc")
    (neck,) = necks(Ask(people, BARS, rotations=1))
    assert (neck.stations, neck.places, len(neck.never)) == (("bar 1", "bar 2"), 2, 1)


def test_who_gets_to_it_once_is_not_left_out():
    people = tuple(wants(key, "rings") for key in "abc")
    assert necks(Ask(people, (RINGS, FLOOR), rotations=3)) == ()


def test_who_had_it_in_a_rotation_that_is_over_is_not_left_out():
    had = Person("a", wants("a", "rings").choices, had=((0, 1),))
    (neck,) = necks(Ask((had, wants("b", "rings"), wants("c", "rings")), (RINGS,), rotations=1))
    assert "a" in neck.wanting
    assert "a" not in neck.never
    assert len(neck.never) == 1


def test_want_of_a_coachs_hands_is_told():
    people = tuple(wants(key, "bar 1", "bar 2", spotters=1, inverted=True) for key in "ab")
    (neck,) = necks(Ask(people, BARS, rotations=1))
    assert neck.led
    assert len(neck.never) == 1


def test_the_worst_comes_first():
    people = (*(wants(key, "rings") for key in "ab"), *(wants(key, "bar 1") for key in "cde"))
    found = necks(Ask(people, (RINGS, *BARS), rotations=1))
    assert [(neck.stations, len(neck.never)) for neck in found] == [(("bar 1",), 2), (("rings",), 1)]


def test_a_step_without_any_place_is_named():
    ask = Ask((wants("a"), wants("b", "rings")), (RINGS,), rotations=1)
    assert nowhere(ask) == (("a", "own"),)
    assert necks(ask) == ()
