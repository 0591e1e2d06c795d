"""Which consents a step asks for."""

from __future__ import annotations

from collections.abc import Iterator


def kinds_asked(*, inverted: bool, clearance: str) -> Iterator[str]:
    """Yield the kinds of consent without which nobody is at a step: where it inverts, and where a coach has to spot."""
    if inverted:
        yield "inversion"
    if clearance == "spotted":
        yield "spotting"
