"""Tablets of the gym floor: the codes that people type, how long each thing holds, and the device's clock."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

LETTERS: Final = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"  # none that is taken for another
ENROLMENT_LENGTH: Final = 8
ENROLMENT_HOLDS: Final = timedelta(minutes=15)

COACH_CODE_DIGITS: Final = 6
MOST_TRIES: Final = 5
LOCK_HOLDS: Final = timedelta(minutes=5)
HAND_OVER_HOLDS: Final = timedelta(hours=12)

CONTACT_EVERY: Final = timedelta(minutes=1)
CLOCK_SLACK_MS: Final = 2000  # a network's delay; more than that is another clock


def shown_code(code: str) -> str:
    """Return an enrolment code as it is read out and typed: 'ABCD-EFGH'."""
    middle = ENROLMENT_LENGTH // 2
    return f"{code[:middle]}-{code[middle:]}"


def typed_code(text: str) -> str:
    """Return what was typed as an enrolment code, in upper case and without hyphens and blanks."""
    return "".join(sign for sign in text.upper() if sign.isalnum())


def is_code(code: str) -> bool:
    """Whether a text has the form of a coach's code: six ASCII digits."""
    return len(code) == COACH_CODE_DIGITS and code.isascii() and code.isdecimal()


def is_weak(code: str) -> bool:
    """Whether somebody would try that code of digits first: equal steps (111111, 123456, 890123) or a repeated part."""
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(code)}
    parts = range(1, len(code) // 2 + 1)
    repeats = any(code == code[:part] * (len(code) // part) for part in parts if len(code) % part == 0)
    return len(steps) == 1 or repeats


def offset_ms(received_at: datetime, sent_at: datetime) -> int:
    """Return the server's clock minus the device's, in milliseconds."""
    return (received_at - sent_at) // timedelta(milliseconds=1)


def contact_is_news(
    *, heard_at: datetime | None, kept_ms: int | None, received_at: datetime, heard_ms: int | None
) -> bool:
    """Whether a contact is worth a write: none within the last minute, or the device's clock was set meanwhile."""
    if heard_at is None or received_at - heard_at >= CONTACT_EVERY:
        return True
    return heard_ms is not None and (kept_ms is None or abs(heard_ms - kept_ms) > CLOCK_SLACK_MS)
