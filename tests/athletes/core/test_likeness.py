"""Whether two names may be one person's.

Check values of the distance: kitten and sitting, 3, Saturday and Sunday, 3, as textbooks on the algorithm of Wagner and
Fischer (1974) have them (from memory); Levenshtein (1966) proves that the distance is a metric.
"""

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.core.likeness import are_alike, edit_distance, is_one_slip, keys_of, plain_name


@pytest.mark.parametrize(
    ("one", "other", "distance"),
    [
        ("kitten", "sitting", 3),
        ("Saturday", "Sunday", 3),
        ("", "abc", 3),
        ("abc", "", 3),
        ("abc", "abc", 0),
        ("ab", "ba", 2),
    ],
)
def test_the_distance_has_the_published_values(one, other, distance):
    assert edit_distance(one, other) == distance


few_letters = st.text("abc", max_size=6)


@cache
def by_definition(one: str, other: str) -> int:
    """The distance straight from its definition: the best of the three last edits."""
    if not one or not other:
        return len(one) + len(other)
    changed = by_definition(one[:-1], other[:-1]) + (one[-1] != other[-1])
    return min(by_definition(one[:-1], other) + 1, by_definition(one, other[:-1]) + 1, changed)


@given(few_letters, few_letters)
def test_the_distance_is_that_of_the_definition(one, other):
    assert edit_distance(one, other) == by_definition(one, other)


@given(few_letters, few_letters, few_letters)
def test_the_distance_is_a_metric(one, other, third):
    assert edit_distance(one, other) == edit_distance(other, one)
    assert (edit_distance(one, other) == 0) == (one == other)
    assert edit_distance(one, third) <= edit_distance(one, other) + edit_distance(other, third)


@pytest.mark.parametrize(
    ("one", "other", "is_slip"),
    [
        ("jon", "john", True),
        ("john", "jon", True),
        ("jon", "jan", True),
        ("jhon", "john", True),
        ("ab", "ba", True),
        ("a", "", True),
        ("jon", "jon", False),
        ("jon", "jane", False),
        ("abc", "cba", False),
        ("abcd", "badc", False),
        ("abcd", "abdcx", False),
    ],
)
def test_one_slip_is_one_letter_or_two_neighbours_swapped(one, other, is_slip):
    assert is_one_slip(one, other) is is_slip


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Zoë Berg", "zoe BERG"),
        ("Zoë Berg", "Zoe\u0308 Berg"),
        ("Ada Lindqvist", "Lindqvist, Ada"),
        ("Søren Łukasz Đorđević", "Soren Lukasz Dordevic"),
        ("Jürgen Groß", "Jurgen Gross"),
        ("Siân O'Neil", "Sian ONeil"),
        ("Anne-Marie Roy", "Anne Marie Roy"),
        ("AnneMarie Roy", "Anne Marie Roy"),
        ("Ada Lindqvist", "Ada Lindquist"),
        ("Ada Lindqvist", "Lindqivst Ada"),
        ("Ａda Berg", "Ada Berg"),
        ("İlay Ünal", "ilay unal"),
        ("Мия Окафор", "МИЯ ОКАФОР"),
    ],
)
def test_one_name_written_in_two_ways_is_alike(one, other):
    names = plain_name(one), plain_name(other)
    assert are_alike(*names)
    assert are_alike(*reversed(names))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ada Lindqvist", "Eva Lindqvist"),
        ("Ada Berg", "Ida Borg"),
        ("Ada Berg", "Ada"),
        ("Ada Berg", "Ada Maria Berg"),
        ("Ada", "Zoë"),
    ],
)
def test_two_slips_or_another_word_are_another_name(one, other):
    assert not are_alike(plain_name(one), plain_name(other))


names = st.lists(st.text("ab", min_size=1, max_size=4), min_size=1, max_size=3).map(" ".join).map(plain_name)


@given(names, names)
def test_names_that_are_alike_share_a_key(one, other):
    if are_alike(one, other):
        assert {*keys_of(one)} & {*keys_of(other)}


@given(st.text(max_size=60))
def test_any_text_has_a_plain_name(text):
    words = plain_name(text).words
    assert words == tuple(sorted(words))
    assert all(words)
