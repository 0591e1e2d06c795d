"""Certificates: which entry holds on a day, and whether it is good then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

WARN_DAYS: Final = 30  # common practice, no source
REMIND_DAYS: Final = (7, WARN_DAYS)  # how long before the last day a mail goes out; common practice, no source


@dataclass(frozen=True, slots=True)
class Entered:
    """A certificate as it was entered; `valid_until` is the last day on which it is good, None for no end."""

    kind: str
    valid_from: date
    valid_until: date | None


@dataclass(frozen=True, slots=True)
class CertificateLine:
    """How one kind of certificate stands on a day; `words` is what the kind is called."""

    kind: str
    words: str
    valid_from: date
    valid_until: date | None
    good: bool
    lapsed: bool


def entry_on(entries: Sequence[Entered], day: date) -> Entered | None:
    """Return the entry of one kind that holds on a day; `entries` in the order in which they were recorded.

    The last one that has begun by then. So a renewal can be entered ahead, and the one before holds until it begins;
    where none has begun, the last one of all.
    """
    begun = [entry for entry in entries if entry.valid_from <= day]
    return begun[-1] if begun else entries[-1] if entries else None


def line_of(entry: Entered, words: str, day: date) -> CertificateLine:
    """Tell how an entry stands on a day: good through its last day, lapsed from the day after."""
    lapsed = entry.valid_until is not None and entry.valid_until < day
    good = entry.valid_from <= day and not lapsed
    return CertificateLine(entry.kind, words, entry.valid_from, entry.valid_until, good, lapsed)


def ends_soon(line: CertificateLine, day: date) -> bool:
    """Whether a certificate is good on a day, and its last day is at most WARN_DAYS away."""
    return line.good and line.valid_until is not None and line.valid_until <= day + timedelta(days=WARN_DAYS)


def reminder_due(entries: Sequence[Entered], day: date) -> tuple[Entered, int] | None:
    """Return the entry of one kind that is about to end, and of REMIND_DAYS the days within which it ends.

    None while its end is far away, where it has ended, and where another entry goes on the day after it.
    """
    entry = entry_on(entries, day)
    if entry is None or entry.valid_until is None or not line_of(entry, "", day).good:
        return None
    after = entry.valid_until + timedelta(days=1)
    following = entry_on(entries, after)
    if following and line_of(following, "", after).good:
        return None
    left = (entry.valid_until - day).days
    return next(((entry, days) for days in REMIND_DAYS if left <= days), None)
