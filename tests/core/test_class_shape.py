"""How a class is laid out, and a coach's words about it."""

import pytest

from skills.core.class_shape import Shape, Words, shape_problems
from skills.core.rotation.asks import Apart, Pin


@pytest.mark.parametrize(
    ("minutes", "warm_up", "rotation", "rotations", "left"),
    [(60, 10, 12, 4, 2), (60, 0, 60, 1, 0), (46, 10, 12, 3, 0), (20, 15, 12, 0, 5), (10, 20, 5, 0, -10)],
)
def test_whole_rotations_fit_after_the_warm_up(minutes, warm_up, rotation, rotations, left):
    shape = Shape(minutes=minutes, warm_up_minutes=warm_up, rotation_minutes=rotation)
    assert (shape.rotations, shape.left_minutes) == (rotations, left)


def test_the_usual_shape_can_be_planned():
    assert shape_problems(Shape()) == ()
    assert shape_problems(Shape(most_resets=None), first_rotation=3) == ()


@pytest.mark.parametrize("first", [-1, 4])
def test_a_rotation_that_the_class_does_not_have_is_named(first):
    (problem,) = shape_problems(Shape(), first_rotation=first)
    assert (problem.field, "4 rotations" in problem.sentence) == ("first_rotation", True)


def test_every_mistake_is_told_at_once():
    wrong = Shape(minutes=0, warm_up_minutes=-1, rotation_minutes=1, reset_minutes=9, coaches=0, most_resets=99)
    fields = [problem.field for problem in shape_problems(wrong)]
    assert fields == ["minutes", "rotation_minutes", "warm_up_minutes", "reset_minutes", "coaches", "most_resets"]


def test_a_person_is_fixed_at_one_place_in_a_rotation():
    words = Words().fixing(Pin("a", 0, "rings")).fixing(Pin("b", 0, "bar")).fixing(Pin("a", 0, "floor"))
    assert words.pins == (Pin("b", 0, "bar"), Pin("a", 0, "floor"))
    assert words.freeing("a", 1) == words
    assert words.freeing("a", 0).pins == (Pin("b", 0, "bar"),)


def test_a_pair_is_kept_apart_once_whoever_is_named_first():
    words = Words().parting("b", "a").parting("a", "b")
    assert words.apart == (Apart("a", "b"),)
    assert words.joining("b", "a").apart == ()
    assert words.joining("a", "c") == words
