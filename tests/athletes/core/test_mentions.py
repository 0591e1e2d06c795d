"""Whether a text names somebody."""

import pytest

from athletes.core.mentions import names_somebody

NAMES = ["Ada Lindqvist", "Li", "Jean  Luc O’Neill", "Bo Hall"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Ada Lindqvist", True),
        ("the bar of ADA  lindqvist, left", True),
        ("Ada Lindqvist's bar", True),
        ("jean luc o’neill", True),
        ("", False),
        ("Ada's bar", False),  # a first name alone is half of all words
        ("Hall bar by the window", False),
        ("Li", False),
        ("Ada Lindqvistson", False),
        ("Adamant Lindqvist", False),
    ],
)
def test_a_full_name_is_found_as_a_whole(text: str, *, found: bool) -> None:
    assert names_somebody(text, NAMES) is found


def test_where_nobody_is_known_nobody_is_named() -> None:
    assert not names_somebody("Ada Lindqvist", [])
    assert not names_somebody("Ada Lindqvist", ["Ada"])
