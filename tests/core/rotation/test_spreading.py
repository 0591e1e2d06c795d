"""Places are dealt so that everybody has one in each rotation and nobody gets more of anything than their share."""

from collections import Counter
from math import ceil, floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.rotation.spreading import Edge, dealt


@st.composite
def taken(draw):
    """Edges of some people over some rotations, one for each person in each rotation."""
    people = draw(st.integers(1, 7))
    rotations = draw(st.integers(1, 6))
    does = st.sampled_from(["bar", "floor", "rings", "idle"])
    return people, [Edge(r, draw(does), n, None) for r in range(rotations) for n in range(people)]


@given(taken())
def test_everybody_has_one_thing_in_each_rotation_and_an_even_share_of_each(case):
    people, edges = case
    shares = dealt(edges, people)
    rotations = sorted({edge.rotation for edge in edges})
    assert [[edge.rotation for edge in share] for share in shares] == [rotations] * people
    assert Counter(edge for share in shares for edge in share) == Counter(edges)
    for does, total in Counter(edge.does for edge in edges).items():
        got = [sum(edge.does == does for edge in share) for share in shares]
        assert {floor(total / people), ceil(total / people)} >= set(got)


def test_a_rotation_with_too_few_edges_is_refused():
    with pytest.raises(ValueError, match="one thing to do"):
        dealt([Edge(0, "bar", 0, None)], 2)
