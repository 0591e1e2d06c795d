"""Telephone numbers, checked loosely: people write them in many ways, and a number that is refused is none at all."""

from __future__ import annotations

import re
from typing import Final

# ITU-T E.164 (11/2010), section 6: at most 15 digits, the country code included. Short ones like 112 are numbers too.
MOST_DIGITS: Final = 15
FEWEST_DIGITS: Final = 3

_WRITTEN: Final = re.compile(r"\+?[0-9 ()./-]+")


def tidy_phone(text: str) -> str:
    """Return a number as it is shown, with single spaces; '' for what cannot be one."""
    shown = " ".join(text.split())
    if not _WRITTEN.fullmatch(shown):
        return ""
    return shown if FEWEST_DIGITS <= len(_digits(shown)) <= MOST_DIGITS else ""


def phone_address(shown: str) -> str:
    """Return the address that a telephone dials, like 'tel:+4930123456' (RFC 3966)."""
    return f"tel:{'+' if shown.startswith('+') else ''}{_digits(shown)}"


def _digits(shown: str) -> str:
    return re.sub(r"[^0-9]", "", shown)
