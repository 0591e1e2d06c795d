"""What erasure does, in the words of pages: first in short, then line by line as `kept` declares it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from athletes.core.kept import TABLES, Erasing

_GOES: Final = (
    ("", "the name, e-mail address and birth date, and what the staff noted"),
    ("athlete", "stature and mass, the emergency contact, invitations and private links"),
    ("athlete", "reasons and notes in words: on attempts, decisions, cautions and incidents"),
    ("staff", "the code for tablets and the keys for programs, at once"),
    ("", "the log-in to this gym, everywhere it is signed in; the account too, unless it opens something else"),
    ("", "the name where notes about others have it in full, and mail that is kept in files here"),
)
_STAYS: Final = (
    ("athlete", "what was practised and when, what coaches decided, cautions without a reason, consents, classes"),
    ("staff", "what was logged, decided and checked; where the name stood it says “erased”"),
    ("", "the record of who did what, without names: it is sealed, and nothing can be taken out of it"),
    ("", "what somebody wrote down for another person, such as whom to call for them"),
    ("", "a line that somebody was erased, so that a backup which is restored is erased again"),
    ("", "backups that were made before, printed pages and exported files: the program cannot reach them"),
)


def what_goes(roles: Collection[str]) -> list[str]:
    """Return what goes of somebody in these roles, each as the rest of a sentence."""
    return [words for whose, words in _GOES if _is_for(whose, roles)]


def what_stays(roles: Collection[str]) -> list[str]:
    """Return what stays under a random number, each as the rest of a sentence."""
    return [words for whose, words in _STAYS if _is_for(whose, roles)]


def every_line() -> list[tuple[str, str]]:
    """Return what is kept about anybody, line by line, with what erasure does with it."""
    lines = TABLES.values()
    return [(line.what, line.erasing.value) for line in lines if line.erasing is not Erasing.NONE]


def _is_for(whose: str, roles: Collection[str]) -> bool:
    staff = any(role.startswith(("coach", "owner")) for role in roles)
    athlete = any(role.startswith("athlete") for role in roles)
    return not whose or (whose == "staff" and staff) or (whose == "athlete" and athlete)
