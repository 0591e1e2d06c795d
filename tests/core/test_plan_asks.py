"""Who may be where in a class plan: what is left out is never weighed against anything."""

import pytest

from skills.core.body_heights import Height
from skills.core.plan_asks import Doable, Limits, Somebody, Stand, ask_of, without_height
from skills.core.rotation.asks import Place
from skills.core.rotation.solving import best_plan
from skills.core.set_up import BarPlace, Holes

RACK = BarPlace(Holes(first_mm=900, pitch_tenths_mm=500, count=12), 320)
LOW = Stand("low", "low_bar", 2, RACK)
HIGH = Stand("high", "high_bar", 2, BarPlace(2400, 320))
ROW = Doable("row", "low_bar", "in_hand")
LIMITS = Limits(rotations=2, coaches=1, judges=1)


def body(mm: int) -> Height:
    return Height(mm, mm, mm, measured=True)


def somebody(*doables: Doable, chest: int | None = 1260, armpit: int = 1330) -> Somebody:
    if chest is None:
        return Somebody("a", doables)
    return Somebody("a", doables, body(chest), body(armpit))


def places(person: Somebody, *stands: Stand) -> tuple[Place, ...]:
    return ask_of([person], stands, LIMITS).people[0].choices[0].places


def test_a_low_bar_is_set_to_the_hole_under_the_chest_or_a_little_lower():
    # The tops stand at 900, 950, …: 1250 is the highest under a chest of 1260; 1160 is the lowest that suits.
    assert places(somebody(ROW), LOW) == (Place("low", 7, 1), Place("low", 8, 0))


def test_no_hole_is_above_the_armpit():
    short = somebody(ROW, chest=930, armpit=940)
    assert places(short, LOW) == (Place("low", 1, 0),)
    assert places(somebody(ROW, chest=840, armpit=880), LOW) == ()


def test_a_body_that_nobody_measured_has_no_place_at_a_bar_that_is_set_and_is_named():
    unknown = somebody(ROW, Doable("tuck", "high_bar", "earlier"), chest=None)
    assert places(unknown, LOW, HIGH) == ()
    assert without_height([unknown, somebody(ROW)], [LOW, HIGH]) == ("a",)
    assert without_height([unknown], [HIGH]) == ()


def test_a_bar_at_a_fixed_height_asks_for_no_hole():
    assert places(somebody(Doable("tuck", "high_bar", "in_hand"), chest=None), HIGH) == (Place("high"),)


def test_a_station_that_names_its_steps_takes_no_others():
    rings = Stand("rings", "rings", 1, serves=frozenset({"hang"}))
    assert places(somebody(Doable("swing", "rings", "in_hand")), rings) == ()
    assert places(somebody(Doable("hang", "rings", "in_hand")), rings) == (Place("rings"),)


@pytest.mark.parametrize(
    ("doable", "spotters"),
    [
        (Doable("over", "high_bar", "in_hand", inverted=True, clearance="spotted", first_try=True), 2),
        (Doable("over", "high_bar", "in_hand", inverted=True, clearance="spotted"), 1),
        (Doable("over", "low_bar", "in_hand", inverted=True, clearance="spotted", first_try=True), 1),
        (Doable("over", "high_bar", "in_hand", inverted=True, clearance="present"), 0),
        (Doable("over", "high_bar", "in_hand", inverted=True, clearance="alone"), 0),
        (Doable("tuck", "high_bar", "in_hand", first_try=True), 0),
    ],
)
def test_how_many_hands_a_try_takes(doable, spotters):
    assert doable.spotters == spotters


def test_what_somebody_had_before_is_worth_less_now():
    person = Somebody("a", (ROW,), body(1260), body(1330), had=(("row", "in_hand", 2), ("gone", "earlier", 1)))
    assert ask_of([person], [LOW], LIMITS).people[0].had == ((0, 2),)


def test_the_ask_can_be_planned():
    plan = best_plan(ask_of([somebody(ROW)], [LOW, HIGH], LIMITS))
    assert [(seat.station, seat.hole) for seat in plan.seats] == [("low", 8), ("low", 8)]


def test_no_more_coaches_judge_than_there_are():
    assert ask_of([], [HIGH], Limits(rotations=1, coaches=1, judges=3)).judges == 1
