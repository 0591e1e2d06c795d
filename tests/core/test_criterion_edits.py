"""A criterion while it is written: nothing typed is lost, limits hold, and each mistake comes back to its field."""

from collections import Counter
from collections.abc import Iterator
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from skills.core.criteria import Criterion, parse, problems, to_data
from skills.core.criterion_edits import (
    GROUPS,
    LEAVES,
    Draft,
    Place,
    add,
    at,
    dissolve,
    draft_of,
    may_add,
    may_dissolve,
    may_move,
    may_wrap,
    move,
    placed,
    remove,
    wrap,
    written,
)
from skills.core.criterion_form import MOST_LEAVES, MOST_LEVELS
from skills.core.form_fields import Problem
from tests.strategies import deal_criterion

HOLDS = Draft("holds").filled()


def leaf(name: str) -> Draft:
    return Draft("step", {"step": (name,)})


def group(word: str, *parts: Draft | str) -> Draft:
    return Draft(word, {}, tuple(leaf(part) if isinstance(part, str) else part for part in parts))


def told(draft: Draft | None) -> str:
    """A tree in short: 'all(a any(b c))'."""
    if draft is None:
        return "-"
    return f"{draft.word}({' '.join(map(told, draft.parts))})" if draft.is_group else draft.text("step")


def chain(levels: int) -> Draft:
    """Groups within one another, the last level a leaf."""
    draft = leaf("x")
    for _ in range(levels - 1):
        draft = group("all", draft)
    return draft


def places(draft: Draft | None, place: Place = ()) -> Iterator[Place]:
    if draft is not None:
        yield place
        for index, part in enumerate(draft.parts):
            yield from places(part, (*place, index))


def criterion_of(seed: int) -> Criterion:
    dealt = to_data(deal_criterion(Random(seed).choice, ["a", "b"], 2))
    assume(not problems(dealt))  # some of the dealt ones can never be met
    return parse(dealt)


# ---- To the written form and back ---------------------------------------------------------------------------------


@given(st.integers(0, 10_000))
def test_every_criterion_comes_back_from_its_draft(seed):
    criterion = criterion_of(seed)
    assert parse(written(draft_of(criterion))) == criterion


@given(st.integers(0, 10_000))
def test_filling_adds_nothing_to_what_a_criterion_says(seed):
    criterion = criterion_of(seed)
    assert parse(written(draft_of(criterion).filled())) == criterion


@pytest.mark.parametrize("word", [word for word in LEAVES if word != "step"])
def test_a_new_condition_of_each_kind_is_a_rule_at_once(word):
    assert problems(written(Draft(word).filled())) == ()


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("12", 12),
        (" 12 ", 12),
        ("-3", -3),
        ("012", 12),
        ("3.5", "3.5"),
        ("three", "three"),
        ("NaN", "NaN"),
        ("1e3", "1e3"),
        ("9" * 5000, "9" * 5000),
        ("٣", "٣"),
    ],
)
def test_numbers_are_read_and_everything_else_stays_as_it_was_typed(typed, read):
    assert written(Draft("holds", {"count": (typed,), "seconds": ("5",)})) == {"holds": {"count": read, "seconds": "5"}}


@pytest.mark.parametrize(
    ("typed", "read"), [("5", "5"), ("5,5", "5.5"), ("5.5 s", "5.5"), ("-5", "-5"), ("long", "long")]
)
def test_seconds_may_be_written_with_a_comma_or_their_unit(typed, read):
    assert written(Draft("best", {"target": ("seconds",), "seconds": (typed,)})) == {"best": {"seconds": read}}


def test_what_is_left_empty_is_missing_or_usual():
    assert written(Draft("holds", {"count": ("",), "seconds": ("5",), "window_days": ("",), "sessions": (" ",)})) == {
        "holds": {"seconds": "5"}
    }


def test_the_last_text_of_a_field_counts_and_an_empty_one_before_it_says_that_it_was_there():
    typed = {"count": ("1",), "seconds": ("5",), "clean": ("", "yes"), "variants": ("",), "who": ("",)}
    assert written(Draft("holds", typed))["holds"] == {
        "count": 1,
        "seconds": "5",
        "clean": True,
        "variants": False,
        "who": [],
    }


def test_a_kind_that_is_tried_and_left_again_keeps_its_texts():
    holds = Draft("holds", {"count": ("3",), "seconds": ("20",), "who": ("judged", "counted")})
    as_reps = Draft("reps", holds.typed).filled()
    assert as_reps.fields[:3] == ("count", "reps", "unbroken")
    assert Draft("holds", as_reps.typed).fields[:2] == ("count", "seconds")
    assert {**as_reps.typed, **holds.typed} == as_reps.typed


def test_the_clean_tries_of_the_last_are_a_number_and_their_own_field():
    typed = Draft("last", {"target": ("seconds",), "seconds": ("5",), "good": ("3",), "of": ("5",), "clean": ("yes",)})
    assert written(typed) == {"last": {"clean": 3, "of": 5, "seconds": "5"}}


# ---- Where a mistake belongs --------------------------------------------------------------------------------------


def test_each_mistake_comes_back_to_its_field():
    bad = Draft("holds", {"count": ("3",), "seconds": ("-5",), "window_days": ("0",)})
    last = Draft("last", {"target": ("seconds",), "seconds": ("5",), "good": ("9",), "of": ("5",)})
    angle = Draft("angle", {"count": ("1",), "bound": ("at_most",), "degrees": ("200",)})
    tree = group("all", bad, Draft("at_least", {"count": ("7",)}, (last, group("any", angle))))
    found = placed(tree, problems(written(tree)))
    assert {place: {*fields} for place, fields in found.items()} == {
        (0,): {"seconds", "window_days"},
        (1,): {"count"},
        (1, 0): {"good"},
        (1, 1, 0): {"degrees"},
    }
    assert found[(1, 0)] == {"good": ["9 of the last 5 can never be reached."]}


def test_five_sessions_within_two_days_are_told_at_the_sessions():
    draft = Draft("holds", {"count": ("5",), "seconds": ("5",), "sessions": ("5",), "window_days": ("2",)})
    assert {*placed(draft, problems(written(draft)))[()]} == {"sessions"}


def test_a_mistake_of_the_condition_itself_stands_at_the_condition():
    tree = group("any", group("all"), Draft("whatever"), chain(7))
    found = placed(tree, problems(written(tree)))
    assert {place for place, fields in found.items() if "" in fields} == {(0,), (1,), (2, 0, 0, 0, 0, 0)}


def test_an_empty_target_is_told_beside_its_own_field():
    draft = Draft("best", {"target": ("reps",), "reps": ("",)})
    assert {*placed(draft, problems(written(draft)))[()]} == {"reps"}


def test_a_step_is_told_at_its_field_and_an_unknown_path_at_the_root():
    tree = group("all", leaf(""), HOLDS)
    assert placed(tree, problems(written(tree)))[(0,)].keys() == {"step"}
    assert placed(tree, [Problem("all[7].holds.nothing", "?")]) == {(): {"": ["?"]}}
    assert placed(tree, [Problem("all[1].holds.nothing", "?")]) == {(1,): {"": ["?"]}}


# ---- Edits --------------------------------------------------------------------------------------------------------


def test_the_first_condition_is_the_root():
    assert add(None, (), HOLDS).root == HOLDS


def test_a_second_condition_stands_beside_the_first_in_a_group():
    edited = add(leaf("a"), (), leaf("b"))
    assert (told(edited.root), edited.place) == ("all(a b)", (1,))


def test_a_condition_is_added_at_the_end_of_its_group():
    edited = add(group("all", "a", group("any", "b")), (1,), leaf("c"))
    assert (told(edited.root), edited.place) == ("all(a any(b c))", (1, 1))


def test_a_condition_is_put_into_a_group_and_the_group_dissolved_again():
    tree = group("all", "a", "b")
    edited = wrap(tree, (1,), "at_least")
    assert (told(edited.root), edited.place) == ("all(a at_least(b))", (1,))
    assert dissolve(edited.root, (1,)).root == tree


def test_a_root_with_several_parts_does_not_dissolve():
    assert not may_dissolve(group("all", "a", "b"), ())
    assert told(dissolve(group("all", "a"), ()).root) == "a"


def test_a_condition_is_removed_with_its_parts_and_the_root_too():
    tree = group("all", "a", group("any", "b", "c"))
    assert told(remove(tree, (1,)).root) == "all(a)"
    assert remove(tree, (1, 0)).place == (1,)
    assert remove(tree, ()).root is None


DOWN_THE_PAGE = [
    "all(x a any(b c) d)",
    "all(a x any(b c) d)",
    "all(a any(x b c) d)",
    "all(a any(b x c) d)",
    "all(a any(b c x) d)",
    "all(a any(b c) x d)",
    "all(a any(b c) d x)",
]


def test_a_condition_moves_line_by_line_into_a_group_and_out_of_it():
    tree: Draft | None = group("all", "x", "a", group("any", "b", "c"), "d")
    place: Place = (0,)
    seen, ways = [told(tree)], []
    while may_move(tree, place, 1):
        ways.append(place)
        edited = move(tree, place, 1)
        tree, place = edited.root, edited.place
        seen.append(told(tree))
    assert seen == DOWN_THE_PAGE
    for way, before in zip(reversed(ways), reversed(DOWN_THE_PAGE[:-1]), strict=True):
        edited = move(tree, place, -1)
        tree, place = edited.root, edited.place
        assert (told(tree), place) == (before, way)


def test_the_last_condition_to_leave_a_group_takes_it_along():
    edited = move(group("all", "a", group("any", "b"), "c"), (1, 0), 1)
    assert (told(edited.root), edited.place) == ("all(a b c)", (1,))


def test_a_group_passes_one_that_it_is_too_deep_to_enter():
    deep = chain(MOST_LEVELS - 1)
    edited = move(group("all", deep, group("any", "a")), (0,), 1)
    assert edited.place == (1,)


@pytest.mark.parametrize("place", [(5,), (0, 0), (-1,), (0,) * 50])
def test_a_place_that_is_not_there_changes_nothing(place):
    tree = group("all", "a", "b")
    assert at(tree, place) is None
    for edited in (add(tree, place, HOLDS), remove(tree, place), wrap(tree, place, "any"), dissolve(tree, place)):
        assert edited.root == tree
    assert move(tree, place, 1).root == tree


def test_the_deepest_level_takes_neither_a_group_nor_a_neighbour_to_a_single_condition():
    tree, deepest = chain(MOST_LEVELS), (0,) * (MOST_LEVELS - 1)
    assert not may_wrap(tree, deepest)
    assert not may_add(tree, deepest)
    assert may_add(tree, deepest[:-1])
    assert add(tree, deepest, HOLDS).root == wrap(tree, deepest, "any").root == tree


def test_forty_conditions_are_as_many_as_there_can_be():
    tree = group("all", *(f"s{number}" for number in range(MOST_LEAVES)))
    assert not may_add(tree, ())
    assert add(tree, (), HOLDS).root == tree
    assert may_wrap(tree, (0,))


@given(st.integers(0, 10_000), st.lists(st.tuples(st.integers(0, 5), st.integers(0, 30)), max_size=30))
def test_no_row_of_edits_loses_a_text_or_passes_the_limits(seed, edits):
    root: Draft | None = draft_of(criterion_of(seed))
    for kind, number in edits:
        spots = [*places(root)] or [()]
        place = spots[number % len(spots)]
        before = _texts(root)
        added: Counter[str] = Counter()
        if kind == 0 and may_add(root, place):
            added = _texts(HOLDS)
            root = add(root, place, HOLDS).root
        elif kind == 1:
            root = wrap(root, place, GROUPS[number % 3]).root
        elif kind == 2:
            root = dissolve(root, place).root
        else:
            edited = move(root, place, 1 if kind == 3 else -1)
            assert at(edited.root, edited.place) == at(root, place)
            root = edited.root
        assert _texts(root) == before + added
        assert root is None or (root.height <= MOST_LEVELS and root.leaves <= MOST_LEAVES)


def _texts(draft: Draft | None) -> Counter[str]:
    """Everything typed into conditions; what a group says of itself goes with the group."""
    if draft is None:
        return Counter()
    own = Counter(f"{name}={texts}" for name, texts in draft.typed.items()) if not draft.is_group else Counter()
    return sum((_texts(part) for part in draft.parts), own)
