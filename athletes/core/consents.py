"""Consents: what was said last, who decides it at which age, and whether and how far it counts."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, Literal

from athletes.core.people import age_years, initials

WORDS: Final = {
    "spotting": "hands-on spotting",
    "inversion": "going upside down",
    "board": "being shown by name on the board",
    "reports": "standing in the owner's reports by name",
    "link": "a private link to the progress page",
    "login": "a log-in of their own",
}

# What is done with somebody's body, and what is done with data about them: others decide, at other ages.
BODY: Final = ("spotting", "inversion")

SaidBy = Literal["athlete", "guardian"]
Extent = Literal["full_name", "initials", "number"]

# From the most that is shown to the least.
_EXTENTS: Final[tuple[Extent, ...]] = ("full_name", "initials", "number")


@dataclass(frozen=True, slots=True)
class Standing:
    """What somebody decides for themselves, by their age: about their body, and about the data about them."""

    of_age: bool
    own_data: bool


MINOR: Final = Standing(of_age=False, own_data=False)
ADULT: Final = Standing(of_age=True, own_data=True)


@dataclass(frozen=True, slots=True)
class ConsentLine:
    """The last word on one kind of consent: what, how far, by whom it was said and when, and who entered it."""

    kind: str
    words: str
    given: bool
    said_by: str
    at: datetime
    entered_by: str
    extent: str = ""

    def counts_for(self, standing: Standing) -> bool:
        """Whether this is consent: given, and by who decides.

        So a guardian's consent to what is done with a body ends on the day on which the athlete comes of age. One about
        data goes on until the athlete, who decides now, says otherwise (EDPB guidelines 05/2020 on consent, on art. 8).
        """
        decides = who_decides(self.kind, standing)
        return self.given and (self.said_by == decides or (self.kind not in BODY and decides == "athlete"))


def standing_on(birth_on: date | None, day: date, *, adult_age_years: int, own_data_age_years: int) -> Standing:
    """Return what who was born on a day decides on another; whose birth date is unknown decides nothing."""
    if birth_on is None:
        return MINOR
    years = age_years(birth_on, day)
    return Standing(years >= adult_age_years, years >= min(adult_age_years, own_data_age_years))


def who_decides(kind: str, standing: Standing) -> SaidBy:
    """Return who consents to that for an athlete: themselves or, below the age for it, a guardian."""
    decides = standing.of_age if kind in BODY else standing.own_data
    return "athlete" if decides else "guardian"


def agreed(kind: str, said: Mapping[str, ConsentLine], standing: Standing) -> bool:
    """Whether somebody agreed, or need not be asked: an adult's name in reports and their own link, until they say no.

    Nor need be asked who decides about their own data whether they take a log-in: they take it by their own act.
    A no holds whoever said it, until who decides says yes.
    """
    line = said.get(kind)
    if line is None:
        return standing.own_data if kind == "login" else kind not in BODY and standing.of_age
    return line.counts_for(standing)


def extent_of(said: Mapping[str, ConsentLine], standing: Standing) -> Extent:
    """Return how somebody is shown in everybody's sight: without a word an adult by name, a minor by initials.

    A word of who does not decide limits and opens nothing; who takes their word back stands by initials.
    """
    unsaid: Extent = "full_name" if standing.of_age else "initials"
    line = said.get("board")
    if line is None:
        return unsaid
    told = _told(line)
    return told if line.counts_for(standing) else max(told, unsaid, key=_EXTENTS.index)


def _told(line: ConsentLine) -> Extent:
    if not line.given:
        return "initials"
    return next((extent for extent in _EXTENTS if extent == line.extent), "full_name")


def shown_name(full_name: str, extent: Extent) -> str:
    """Return what is shown of a name; nothing where the number stands alone."""
    return {"full_name": full_name, "initials": initials(full_name), "number": ""}[extent]


def lacking(kinds: Collection[str], said: Mapping[str, ConsentLine], standing: Standing) -> list[tuple[str, str]]:
    """Return the kinds of these to which there is no consent now, each with the words that say so, in their order."""
    return [
        (kind, _lacking_words(kind, said.get(kind)))
        for kind in kinds
        if kind not in said or not said[kind].counts_for(standing)
    ]


def _lacking_words(kind: str, line: ConsentLine | None) -> str:
    withdrawn = line is not None and not line.given
    return f"no consent to {WORDS[kind]}" + (" (withdrawn)" if withdrawn else "")
