"""Which consents a step asks for."""

from __future__ import annotations

from collections.abc import Iterator


def kinds_asked(*, inverted: bool, clearance: str, assistance: str = "none") -> Iterator[str]:
    """Yield the kinds of consent without which nobody is at a step: where it inverts, and where a coach has to spot.

    Or where one does, whatever the step asks: `assistance` is that of the try.
    """
    if inverted:
        yield "inversion"
    if clearance == "spotted" or assistance == "spot":
        yield "spotting"
