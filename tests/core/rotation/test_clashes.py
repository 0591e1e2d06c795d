"""The smallest set of rules that cannot hold together: of the smallest size, needed in every part."""

from dataclasses import replace
from itertools import combinations

import pytest

from skills.core.rotation.asks import Apart, Ask, Choice, Person, Pin, Place, Station
from skills.core.rotation.clashes import Clash, rules_of, smallest_clash
from tests.core.rotation import brute
from tests.core.rotation.classes import small

BAR = (Choice("tuck", "in_hand", (Place("bar"),)),)
LOW = tuple((Choice("low", "in_hand", (Place("low", hole),)),) for hole in (3, 7))


def test_one_more_pinned_than_a_bar_holds():
    people = tuple(Person(key, BAR) for key in "abc")
    pins = tuple(Pin(key, 0, "bar") for key in "abc")
    ask = Ask(people, (Station("bar", 2),), rotations=1, pins=(*pins,), apart=())
    assert smallest_clash(ask) == Clash(pins)


def test_a_pair_kept_apart_and_pinned_together():
    people = tuple(Person(key, BAR) for key in "ab")
    pins = (Pin("a", 0, "bar"), Pin("b", 0, "bar"))
    ask = Ask(people, (Station("bar", 2),), rotations=1, pins=pins, apart=(Apart("a", "b"),))
    assert smallest_clash(ask) == Clash((*pins, Apart("a", "b")))


def test_two_heights_that_are_pinned_want_a_re_set():
    people = (Person("short", LOW[0]), Person("tall", LOW[1]))
    pins = (Pin("short", 0, "low"), Pin("tall", 1, "low"))
    ask = Ask(people, (Station("low", 2, adjustable=True),), rotations=2, most_resets=0, pins=pins)
    assert smallest_clash(ask) == Clash((*pins, "most_resets"))
    assert smallest_clash(replace(ask, most_resets=1)) is None


def test_more_to_spot_than_coaches():
    over = (Choice("over", "in_hand", (Place("bar"),), spotters=1, inverted=True),)
    pins = tuple(Pin(key, 0, "bar") for key in "ab")
    ask = Ask(tuple(Person(key, over) for key in "ab"), (Station("bar", 2),), rotations=1, coaches=1, pins=pins)
    assert smallest_clash(ask) == Clash((*pins, "coaches"))


def _only(ask: Ask, rules) -> Ask:
    return replace(
        ask,
        pins=tuple(rule for rule in rules if isinstance(rule, Pin)),
        apart=tuple(rule for rule in rules if isinstance(rule, Apart)),
        most_resets=ask.most_resets if "most_resets" in rules else None,
        coaches=ask.coaches if "coaches" in rules else 99,
        judges=ask.judges if "coaches" in rules else 99,
    )


def _pinned(seed: int) -> Ask:
    """A small class in which everybody is pinned somewhere, mostly where it cannot be."""
    ask = small(seed, people=3, stations=2)
    stations = [station.key for station in ask.stations]
    pins = tuple(
        Pin(key, rotation, stations[(seed + n) % len(stations)])
        for n, key in enumerate(ask.person)
        for rotation in (0, 1)
    )
    return replace(ask, pins=pins, most_resets=0)


@pytest.mark.parametrize("seed", range(40))
def test_no_smaller_set_clashes(seed):
    ask = _pinned(seed)
    clash = smallest_clash(ask)
    if brute.best_worth(ask) is not None:
        assert clash is None
        return
    assert clash is not None
    assert brute.best_worth(_only(ask, clash.rules)) is None
    for fewer in combinations(rules_of(ask), len(clash.rules) - 1):
        assert brute.best_worth(_only(ask, fewer)) is not None
