"""Ids out of a seeded generator, in the shapes that all other ids have."""

from __future__ import annotations

from random import Random
from uuid import UUID


def row_id(rng: Random, us: int) -> UUID:
    """Return a UUID in the shape of version 7 (RFC 9562), as if it had been made at that moment."""
    return UUID(int=us // 1000 << 80 | 0x7 << 76 | rng.getrandbits(12) << 64 | 0b10 << 62 | rng.getrandbits(62))


def subject_id(rng: Random) -> UUID:
    """Return a UUID in the shape of version 4."""
    return UUID(
        int=rng.getrandbits(48) << 80 | 0x4 << 76 | rng.getrandbits(12) << 64 | 0b10 << 62 | rng.getrandbits(62)
    )


class SeededIds:
    """A source for `gymtrack.lib.ids.ids_from`: as if all rows had been made at one moment, in their order."""

    def __init__(self, rng: Random, us: int) -> None:
        self._rng, self._us = rng, us

    def row_id(self) -> UUID:
        """Return the next id of a row."""
        self._us += 1000
        return row_id(self._rng, self._us)

    def subject_id(self) -> UUID:
        """Return the next id of a person."""
        return subject_id(self._rng)
