"""Timelines: how one athlete stands at one step, from the beginning to everything that lies ahead."""

import json
from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import astuple, dataclass, replace
from itertools import pairwise
from operator import attrgetter
from typing import Any, Literal

from skills.core.facts import Clearance
from skills.core.spans import FOREVER, Spans

Base = Literal["closed", "working", "ready", "passed", "recheck"]
State = Literal["closed", "working", "ready", "passed", "recheck", "paused"]
Awaits = Literal["", "entrance", "finish"]

_from_us: Callable[["Change"], int] = attrgetter("from_us")


@dataclass(frozen=True, slots=True)
class Change:
    """How it stands from ``from_us`` on, until the next change."""

    from_us: int
    state: State
    base: Base  # the state without the mask of a caution
    clearance: Clearance  # in effect, "" = none
    awaits: Awaits  # the gate that waits for a coach
    flags: tuple[str, ...]  # sorted
    trouble: bool  # here or in any step that leads here


@dataclass(frozen=True, slots=True)
class Timeline:
    """Changes in order; the first is from 0 on, and each differs from the one before."""

    changes: tuple[Change, ...]

    @classmethod
    def of(cls, changes: Iterable[Change]) -> "Timeline":
        """Make a timeline of changes in order of time, leaving out those that change nothing."""
        kept: list[Change] = []
        for change in changes:
            if not kept or replace(change, from_us=kept[-1].from_us) != kept[-1]:
                kept.append(change)
        return cls(tuple(kept))

    def at(self, us: int) -> Change:
        """Return how it stands at the moment ``us``."""
        return self.changes[max(bisect_right(self.changes, us, key=_from_us) - 1, 0)]

    def after(self, us: int) -> Change | None:
        """Return the next change after the moment ``us``, if any lies ahead."""
        ahead = bisect_right(self.changes, us, key=_from_us)
        return self.changes[ahead] if ahead < len(self.changes) else None

    def spans_where(self, holds: Callable[[Change], bool]) -> Spans:
        """Return when something holds of the standing."""
        gaps = pairwise([*map(_from_us, self.changes), FOREVER])
        return Spans.of(gap for change, gap in zip(self.changes, gaps, strict=True) if holds(change))

    def to_json(self) -> str:
        """Return the canonical text: an array of arrays, no spaces, ASCII."""
        return json.dumps([astuple(change) for change in self.changes], separators=(",", ":"), ensure_ascii=True)

    @classmethod
    def from_json(cls, text: str) -> "Timeline":
        """Read what ``to_json`` wrote; raises ValueError when the text is no timeline."""
        try:
            changes = tuple(_change(row) for row in json.loads(text))
        except (TypeError, ValueError) as error:
            raise ValueError("A timeline is a JSON array of arrays of seven.") from error
        if not changes or changes[0].from_us != 0 or not _ascending(changes):
            raise ValueError("A timeline has changes in order of time, the first of them from 0 on.")
        return cls(changes)


def _change(row: Any) -> Change:  # noqa: ANN401 - a row of stored text, whatever it holds
    from_us, state, base, clearance, awaits, flags, trouble = row
    return Change(from_us, state, base, clearance, awaits, tuple(flags), trouble)


def _ascending(changes: tuple[Change, ...]) -> bool:
    return all(earlier.from_us < later.from_us for earlier, later in pairwise(changes))
