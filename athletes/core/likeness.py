"""Whether two names may be one person's: written in another case, without accents, the other way round, or mistyped.

A suggestion only: no name is ever taken for another's by it.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

# Letters that Unicode does not part into a base and a mark, and how they are usually written without them.
_PLAIN = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h", "ŋ": "n"}
)
_INSIDE = re.compile(r"['’‘`´ʼ.·]")  # O'Neil and ONeil, J. and J
_BETWEEN = re.compile(r"[\W_]+")
Key = tuple[tuple[str, ...], str]


@dataclass(frozen=True, slots=True)
class PlainName:
    """A name without case, accents and signs: its words in alphabetical order, and all of it in one as written."""

    words: tuple[str, ...]
    run: str


def plain_name(name: str) -> PlainName:
    """Return a name as it is compared: of "Berg, Zoë" the words berg and zoe, and bergzoe."""
    parted = unicodedata.normalize("NFKD", name.casefold().translate(_PLAIN)).casefold()
    bare = "".join(sign for sign in parted if not unicodedata.combining(sign))
    words = _BETWEEN.sub(" ", _INSIDE.sub("", bare)).split()
    return PlainName(tuple(sorted(words)), "".join(words))


def are_alike(one: PlainName, other: PlainName) -> bool:
    """Whether two names are the same but for the order of their words, a space, or one slip in one word."""
    if one.words == other.words or one.run == other.run:
        return True
    left, right = Counter(one.words) - Counter(other.words), Counter(other.words) - Counter(one.words)
    return left.total() == right.total() == 1 and is_one_slip(*left, *right)


def keys_of(name: PlainName) -> Iterator[Key]:
    """Yield keys of which two names that are alike share one at least, so that not each is held against each.

    Two words that are one slip apart become the same once one letter is taken out of one or both: so a key is the other
    words beside one word that is whole or lacks a letter. There are about as many keys as letters.
    """
    yield (), name.run
    for place, word in enumerate(name.words):
        others = (*name.words[:place], *name.words[place + 1 :])
        for rest in {word, *(word[:at] + word[at + 1 :] for at in range(len(word)))}:
            yield others, rest


def is_one_slip(one: str, other: str) -> bool:
    """Whether two words differ by one letter that is missing, too much or another, or by two neighbours swapped."""
    if abs(len(one) - len(other)) > 1:
        return False
    return edit_distance(one, other) == 1 or _are_swapped(one, other)


def edit_distance(one: str, other: str) -> int:
    """Return how many letters have to be added, taken out or changed to make one word of the other.

    Levenshtein (1966), Soviet Physics Doklady 10(8), 707-710; computed row by row as by Wagner and Fischer (1974),
    Journal of the ACM 21(1), 168-173, https://doi.org/10.1145/321796.321811.
    """
    row = list(range(len(other) + 1))
    for down, a in enumerate(one, start=1):
        diagonal, row[0] = row[0], down
        for right, b in enumerate(other, start=1):
            diagonal, row[right] = row[right], min(row[right] + 1, row[right - 1] + 1, diagonal + (a != b))
    return row[-1]


def _are_swapped(one: str, other: str) -> bool:
    differ = [at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b]
    if len(one) != len(other) or len(differ) != 2 or differ[1] != differ[0] + 1:  # noqa: PLR2004 (two neighbours)
        return False
    first, second = differ
    return one[first] == other[second] and one[second] == other[first]
