from functools import reduce

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.spans import (
    ALWAYS,
    FOREVER,
    NEVER,
    SINCE_EVER,
    Span,
    Spans,
    all_hold,
    any_holds,
    enough_hold,
    since,
)

pairs = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), max_size=6)
moments = range(-1, 22)


def holds(given_pairs, us):
    return any(start <= us < end for start, end in given_pairs)


@pytest.mark.parametrize(
    ("given_pairs", "spans"),
    [
        ([], ()),
        ([(3, 3), (5, 4)], ()),
        ([(3, 5), (1, 2)], (Span(1, 2), Span(3, 5))),
        ([(1, 3), (3, 5)], (Span(1, 5),)),
        ([(1, 9), (2, 4)], (Span(1, 9),)),
    ],
)
def test_spans_are_sorted_and_touching_ones_are_joined(given_pairs, spans):
    assert Spans.of(given_pairs).spans == spans


@given(pairs, pairs)
def test_joining_and_cutting_agree_with_every_moment(left, right):
    one, other = Spans.of(left), Spans.of(right)
    assert [(one | other).covers(us) for us in moments] == [holds(left, us) or holds(right, us) for us in moments]
    assert [(one & other).covers(us) for us in moments] == [holds(left, us) and holds(right, us) for us in moments]


@given(st.lists(pairs.map(Spans.of), max_size=4))
def test_many_are_joined_and_cut_like_two(parts):
    assert any_holds(parts) == reduce(lambda one, other: one | other, parts, NEVER)
    assert all_hold(parts) == reduce(lambda one, other: one & other, parts, ALWAYS)


def test_span_holds_its_first_moment_and_not_its_last():
    spans = Spans.of([(3, 5), (7, 9)])
    assert [spans.covering(us) for us in (2, 3, 4, 5, 7, 9)] == [
        None,
        Span(3, 5),
        Span(3, 5),
        None,
        Span(7, 9),
        None,
    ]
    assert spans.first_us() == 3
    assert list(spans.edges()) == [3, 5, 7, 9]


def test_never_and_always_cover_nothing_and_everything():
    assert [NEVER.covers(us) for us in (SINCE_EVER, 0, FOREVER - 1)] == [False, False, False]
    assert [ALWAYS.covers(us) for us in (SINCE_EVER, 0, FOREVER - 1)] == [True, True, True]
    assert NEVER.first_us() is None
    assert since(4) == Spans((Span(4, FOREVER),))


@given(st.integers(1, 4), st.lists(pairs, max_size=4))
def test_enough_hold_where_so_many_parts_do(count, several):
    found = enough_hold(count, map(Spans.of, several))
    assert [found.covers(us) for us in moments] == [sum(holds(each, us) for each in several) >= count for us in moments]


def test_what_holds_for_ever_is_counted_too():
    assert enough_hold(2, [ALWAYS, since(5), NEVER]) == since(5)
    assert enough_hold(1, [ALWAYS, NEVER]) == ALWAYS
    assert enough_hold(3, [ALWAYS, since(5), NEVER]) == NEVER
