"""The drawing of a graph of steps: what must hold of every one, and the pullover as trade knowledge has it."""

from itertools import combinations, pairwise, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.graph_layout import GAP, Box, Drawing, Node, _isotonic, fold, lay_out
from skills.core.graph_order import Edge, layers_of, ordered

PULLOVER = ["1", "2", "3", "3a", "4", "5", "5a", "6", "7", "8"]
PULLOVER_EDGES: list[Edge] = [
    ("1", "2"), ("1", "3"), ("3", "3a"), ("3a", "4"), ("4", "5"), ("1", "6"), ("5a", "6"), ("4", "7"), ("6", "7"),
    ("2", "8"), ("5", "8"), ("7", "8"),
]  # fmt: skip
CODES = "abcdefghij"


@st.composite
def graphs(draw: st.DrawFn) -> tuple[list[Node], list[Edge]]:
    """Nodes of many sizes, some of another skill, and edges that run in no circle."""
    codes = CODES[: draw(st.integers(0, len(CODES)))]
    edges = [edge for edge in combinations(codes, 2) if draw(st.integers(0, 2)) == 0]
    outside = {code for code in codes if draw(st.booleans()) and all(end != code for _, end in edges)}
    sizes = st.integers(20, 240)
    nodes = [Node(code, draw(sizes), draw(sizes), outside=code in outside) for code in codes]
    return draw(st.permutations(nodes)), draw(st.permutations(edges))


def nodes(*codes: str) -> list[Node]:
    return [Node(code, 200, 80) for code in codes]


def apart(one: Box, other: Box) -> bool:
    across = one.right < other.left or other.right < one.left
    return across or one.bottom < other.top or other.bottom < one.top


@given(graphs())
def test_no_edge_leads_upwards_and_each_piece_goes_down(graph):
    drawing = lay_out(*graph)
    for line in drawing.lines:
        assert drawing.boxes[line.start].bottom < drawing.boxes[line.end].top
        assert all(before[1] <= after[1] for before, after in pairwise(line.points))
        assert line.points[0] == (drawing.boxes[line.start].middle, drawing.boxes[line.start].bottom)
        assert line.points[-1] == (drawing.boxes[line.end].middle, drawing.boxes[line.end].top)


@given(graphs())
def test_no_boxes_touch_and_all_lie_within_the_drawing(graph):
    drawing = lay_out(*graph)
    assert all(apart(one, other) for one, other in combinations(drawing.boxes.values(), 2))
    assert all(box.left >= 0 and box.right <= drawing.width for box in drawing.boxes.values())
    assert all(box.top >= 0 and box.bottom <= drawing.height for box in drawing.boxes.values())
    assert all(0 <= x <= drawing.width for line in drawing.lines for x, _ in line.points)


@given(graphs())
def test_within_a_layer_a_line_runs_straight_down_beside_every_box(graph):
    drawing = lay_out(*graph)
    for line in drawing.lines:
        for (left, top), (right, bottom) in zip(line.points[::2], line.points[1::2], strict=True):
            assert left == right
            passed = [box for code, box in drawing.boxes.items() if code not in {line.start, line.end}]
            assert not any(
                box.left - 1 <= left <= box.right + 1 and box.top < bottom and top < box.bottom for box in passed
            )


@given(graphs())
def test_coordinates_are_whole_numbers_and_the_same_every_time(graph):
    drawing = lay_out(*graph)
    assert lay_out(*graph) == drawing
    numbers = [n for box in drawing.boxes.values() for n in (box.left, box.top, box.width, box.height)]
    numbers += [number for line in drawing.lines for point in line.points for number in point]
    assert {type(number) for number in numbers} <= {int}


@given(graphs())
def test_a_layer_is_the_length_of_the_longest_path_that_leads_there(graph):
    named, edges = graph
    codes = [node.code for node in named]

    def longest(code: str) -> int:
        return max((1 + longest(start) for start, end in edges if end == code), default=0)

    assert layers_of(codes, edges) == {code: longest(code) for code in codes}


def test_the_pullover_stands_in_the_order_of_its_steps():
    drawing = lay_out(nodes(*PULLOVER), PULLOVER_EDGES)
    assert [set(layer) for layer in drawing.layers] == [
        {"1", "5a"}, {"2", "3", "6"}, {"3a"}, {"4"}, {"5", "7"}, {"8"},
    ]  # fmt: skip


def test_the_pullover_is_drawn_without_a_crossing():
    layers = layers_of(PULLOVER, PULLOVER_EDGES)
    assert ordered(PULLOVER, PULLOVER_EDGES, layers).crossings() == 0


def test_a_chain_is_drawn_as_one_straight_line():
    drawing = lay_out(nodes("a", "b", "c"), [("a", "b"), ("b", "c")])
    assert {x for line in drawing.lines for x, _ in line.points} == {drawing.boxes["a"].middle}


def test_crossing_edges_are_uncrossed():
    graph = ordered(["a", "b", "c", "d"], [("a", "d"), ("b", "c")], {"a": 0, "b": 0, "c": 1, "d": 1})
    assert graph.crossings() == 0


@given(st.sets(st.tuples(st.sampled_from("abcd"), st.sampled_from("vwxyz"))))
def test_crossings_are_counted_right_and_never_more_than_in_the_order_given(pairs):
    edges = sorted(pairs)
    found = ordered([*"abcd", *"vwxyz"], edges, dict.fromkeys("abcd", 0) | dict.fromkeys("vwxyz", 1))
    upper, lower = ([str(spot) for spot in row] for row in found.layers)
    assert found.crossings() == crossings_by_hand(upper, lower, edges)
    assert found.crossings() <= crossings_by_hand([*"abcd"], [*"vwxyz"], edges)


def crossings_by_hand(upper: list[str], lower: list[str], edges: list[Edge]) -> int:
    pairs = permutations(edges, 2)
    return sum(
        upper.index(one[0]) < upper.index(two[0]) and lower.index(one[1]) > lower.index(two[1]) for one, two in pairs
    )


def test_a_step_of_another_skill_stands_right_above_the_first_that_asks_for_it():
    named = [*nodes("a", "b", "c"), Node("x", 100, 40, outside=True)]
    drawing = lay_out(named, [("a", "b"), ("b", "c"), ("x", "c")])
    assert drawing.layers == (("a",), ("b", "x"), ("c",))


def test_a_step_of_another_skill_stands_on_top_where_the_very_first_asks_for_it():
    named = [*nodes("a"), Node("x", 100, 40, outside=True)]
    assert lay_out(named, [("x", "a")]).layers == (("x",), ("a",))


def test_boxes_of_a_layer_keep_their_gap():
    drawing = lay_out(nodes("a", "b"), [])
    assert drawing.boxes["b"].left - drawing.boxes["a"].right == GAP


def test_edges_in_a_circle_are_refused_by_name():
    with pytest.raises(ValueError, match=r"in a circle: a, b\."):
        lay_out(nodes("a", "b"), [("a", "b"), ("b", "a")])


def test_an_edge_to_nowhere_is_refused():
    with pytest.raises(KeyError):
        lay_out(nodes("a"), [("a", "z")])


def test_nothing_is_drawn_of_nothing():
    assert lay_out([], []) == Drawing(8, 8, (), {}, ())


def test_isotonic_regression_pools_adjacent_violators_as_by_hand():
    # The weighted means of the pools, by hand: (3 + 2) / 2, and (3 × 5 + 1) / 4.
    assert _isotonic([1, 3, 2, 4], [1, 1, 1, 1]) == [1, 2.5, 2.5, 4]
    assert _isotonic([5, 1], [3, 1]) == [4, 4]


def test_a_text_is_folded_at_words():
    assert fold("Tucked hold in a long-arm hang", 16) == ("Tucked hold in a", "long-arm hang")
    assert fold("Straight-legged pullover", 10) == ("Straight-legged", "pullover")
    assert fold("", 10) == ()
