"""What a roster says of one person, and the checks that a form and a file share.

A check returns the sentence that says what is wrong, or '' for nothing.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

NAME_LENGTH = 120
NOTES_LENGTH = 2000
EMAIL_LENGTH = 254
OLDEST_YEARS = 120
SHOWN_LENGTH = 40
# Wide enough for everybody who might hang from a bar, narrow enough to catch centimetres and pounds.
STATURE_M = (Decimal("0.8"), Decimal("2.5"))
MASS_KG = (Decimal(15), Decimal(250))
# "Valid e-mail address" of the HTML Living Standard, and a dot in the domain, which Django asks for too.
_EMAIL = re.compile(
    r"[a-zA-Z0-9.!#$%&'*+/=?^_`{|}~-]+@[a-zA-Z0-9](?:[a-zA-Z0-9-]{0,61}[a-zA-Z0-9])?"
    r"(?:\.[a-zA-Z0-9](?:[a-zA-Z0-9-]{0,61}[a-zA-Z0-9])?)+"
)
PersonKey = tuple[str, date | None]


@dataclass(frozen=True, slots=True)
class RosterEntry:
    """One person of a roster; stature in metres to the millimetre, mass in kilograms to the ten grams."""

    full_name: str
    birth_on: date | None = None
    stature_m: Decimal | None = None
    mass_kg: Decimal | None = None
    email: str = ""
    notes: str = ""

    @property
    def key(self) -> PersonKey:
        """What makes two entries the same person within a gym."""
        return person_key(self.full_name, self.birth_on)


@dataclass(frozen=True, slots=True)
class RosterLine:
    """One good row of a file: the line where it begins, and whom it names."""

    line: int
    entry: RosterEntry


def person_key(full_name: str, birth_on: date | None) -> PersonKey:
    """Return name and birth date as they are compared: whatever the case, spaces and Unicode spelling."""
    return unicodedata.normalize("NFC", tidy_name(full_name).casefold()), birth_on


def tidy_name(name: str) -> str:
    """Return the name in NFC, with single spaces between its words and none around it."""
    return " ".join(unicodedata.normalize("NFC", name).split())


def name_problem(name: str) -> str:
    """Check a name that was tidied."""
    if not name:
        return "A name is missing."
    if len(name) > NAME_LENGTH:
        return f"The name has {len(name)} characters; {NAME_LENGTH} is the most."
    if has_controls(name):
        return "The name has characters in it that cannot be seen (control characters)."
    return ""


def notes_problem(notes: str) -> str:
    """Check notes: any text, over several lines."""
    if len(notes) > NOTES_LENGTH:
        return f"The notes have {len(notes)} characters; {NOTES_LENGTH} is the most."
    if has_controls(notes.replace("\n", "").replace("\t", "")):
        return "The notes have characters in them that cannot be seen (control characters)."
    return ""


def email_problem(email: str) -> str:
    """Check an e-mail address."""
    if len(email) > EMAIL_LENGTH or not _EMAIL.fullmatch(email):
        return f"{shown(email)} is no e-mail address; write it like ada@gym.example."
    return ""


def birth_problem(birth_on: date, today: date) -> str:
    """Check a birth date against the gym's today."""
    if birth_on > today:
        return f"The birth date {birth_on} is in the future."
    if today.year - birth_on.year > OLDEST_YEARS:
        return f"The birth date {birth_on} is more than {OLDEST_YEARS} years ago."
    return ""


def stature_problem(stature_m: Decimal) -> str:
    """Check a stature in metres."""
    least, most = STATURE_M
    return "" if least <= stature_m <= most else f"{stature_m} m is outside {least} to {most} m."


def mass_problem(mass_kg: Decimal) -> str:
    """Check a mass in kilograms."""
    least, most = MASS_KG
    return "" if least <= mass_kg <= most else f"{mass_kg} kg is outside {least} to {most} kg."


def has_controls(text: str) -> bool:
    """Whether characters that cannot be seen are in the text; the joiners that some scripts need may be."""
    return any(unicodedata.category(c) == "Cc" for c in text)


def shown(text: str) -> str:
    """Return what somebody wrote, in quotes, short enough for a sentence and safe to print anywhere."""
    return f"“{printable(text if len(text) <= SHOWN_LENGTH else text[:SHOWN_LENGTH] + '…')}”"


def printable(text: str) -> str:
    """Return the text with a replacement mark for each character that cannot be seen or encoded."""
    return "".join("�" if unicodedata.category(c) in {"Cc", "Cs"} else c for c in text)
