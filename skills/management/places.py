"""Long work that can be interrupted: where it stopped, kept in the data folder, and a signal that ends it in order."""

from __future__ import annotations

import json
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Place:
    """How far work has come: what was asked for, the last id that is done, and the findings up to it."""

    asked: str
    last: UUID
    findings: int


class PlaceFile:
    """The place of one kind of work. It is written after each commit: at worst one piece of work is done twice."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def read(self) -> Place | None:
        """Return the kept place, None where there is none or the file holds anything else."""
        try:
            asked, last, findings = json.loads(self._path.read_text(encoding="utf-8"))
            return Place(str(asked), UUID(last), int(findings))
        except (OSError, ValueError, TypeError, AttributeError):
            return None

    def keep(self, place: Place) -> None:
        """Put a place instead of the one before, whole or not at all."""
        fresh = self._path.with_suffix(".new")
        fresh.write_text(json.dumps([place.asked, str(place.last), place.findings]), encoding="utf-8")
        fresh.replace(self._path)

    def forget(self) -> None:
        """Remove the place: the work is done, or begins anew."""
        self._path.unlink(missing_ok=True)


@contextmanager
def terminate_as_interrupt() -> Iterator[None]:
    """Take a request to terminate like Ctrl+C meanwhile: the transaction rolls back, and there is time for a word."""
    before = signal.signal(signal.SIGTERM, _interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _interrupt(_signal: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt
