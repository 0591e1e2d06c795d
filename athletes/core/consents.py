"""Consents: what was said last, and whether it counts."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

WORDS: Final = {
    "spotting": "hands-on spotting",
    "inversion": "going upside down",
    "board": "being shown by name on the board",
    "reports": "standing in the owner's reports by name",
    "link": "a private link to the progress page",
}

SaidBy = Literal["athlete", "guardian"]


@dataclass(frozen=True, slots=True)
class ConsentLine:
    """The last word on one kind of consent: what, by whom it was said and when, and who entered it."""

    kind: str
    words: str
    given: bool
    said_by: str
    at: datetime
    entered_by: str

    def counts_for(self, *, minor: bool) -> bool:
        """Whether this is consent: given, and by who decides, a guardian for a minor and an adult for themselves.

        So a guardian's consent ends on the day on which the athlete comes of age.
        """
        return self.given and self.said_by == who_decides(minor=minor)


def who_decides(*, minor: bool) -> SaidBy:
    """Return who consents for an athlete."""
    return "guardian" if minor else "athlete"


def lacking(kinds: Collection[str], said: Mapping[str, ConsentLine], *, minor: bool) -> list[tuple[str, str]]:
    """Return the kinds of these to which there is no consent now, each with the words that say so, in their order."""
    return [
        (kind, _lacking_words(kind, said.get(kind)))
        for kind in kinds
        if kind not in said or not said[kind].counts_for(minor=minor)
    ]


def _lacking_words(kind: str, line: ConsentLine | None) -> str:
    withdrawn = line is not None and not line.given
    return f"no consent to {WORDS[kind]}" + (" (withdrawn)" if withdrawn else "")
