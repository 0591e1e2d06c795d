"""Where it hurts, as a coach taps it: words for a note that erasure may empty. Never a diagnosis, never a fact."""

from __future__ import annotations

from typing import Final

PLACES: Final = ("shoulder", "elbow", "wrist or hand", "neck or back", "hip or knee", "elsewhere")
SIDES: Final = ("left", "right")
DIZZY: Final = "Dizziness or headache"


def pain_words(place: str, side: str = "") -> str:
    """Return 'Pain: left shoulder'; '' where nobody said where."""
    where = " ".join(part for part in (side, place) if part)
    return f"Pain: {where}" if where else ""
