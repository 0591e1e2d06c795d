"""Invitations: the code that somebody types or opens, and how it is written down."""

from __future__ import annotations

from typing import Final

CODE_LENGTH: Final = 12  # of 30 letters and digits: 30^12, 59 bits
GROUP_LENGTH: Final = 4


def shown_code(code: str) -> str:
    """Return a code as it is read out and typed: 'ABCD-EFGH-JKMN'."""
    return "-".join(code[start : start + GROUP_LENGTH] for start in range(0, len(code), GROUP_LENGTH))
