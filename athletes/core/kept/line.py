"""A line of what is kept, and the words that many lines share."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

ERASED: Final = "erased"  # stands where a name stood


class Erasing(Enum):
    """What erasure does with the rows of a person."""

    DELETE = "deleted"
    EMPTY = "emptied"
    FACT = "kept without a name"
    NONE = "nobody’s"  # the table is about no person


@dataclass(frozen=True, slots=True)
class Kept:
    """One line: in plain words what is kept, about whom, why, how long, and what erasure does.

    `how_long` may ask for `{months}` and `{pain_days}`, settings of the gym. `of` are the ways from a row to the
    person whose it is, as lookups; `empties` the columns that erasure empties. Columns of text that stay are in
    `codes` (codes, digests and figures that the program makes or checks against a list) or in `gyms_words` (words
    of the gym about its own things, in which nobody's name belongs).
    """

    what: str
    about: str
    why: str
    how_long: str
    erasing: Erasing
    of: tuple[str, ...] = ()
    empties: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    gyms_words: tuple[str, ...] = ()

    def told_how_long(self, *, months: int, pain_days: int) -> str:
        """Return how long, with the gym's own settings in it."""
        return self.how_long.format(months=months, pain_days=pain_days)


LEFT: Final = "until {months} months after they left, or until they are erased"
FACT: Final = (
    "for good, under a random number; the name behind it goes {months} months after they left, or when it is erased"
)
PROVES: Final = "to prove who was cleared for what, by whom and on what evidence"
GYM: Final = "for as long as there is the gym"
COUNT: Final = "as long as the project does its work; it says nothing about anybody"
