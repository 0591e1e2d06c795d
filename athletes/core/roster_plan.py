"""What importing a roster would do: who would be added, who is known, and who may be known under another spelling.

Nobody is ever merged by it: a line that resembles somebody waits until a coach has said who that is.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from itertools import islice
from typing import Literal

from athletes.core.likeness import PlainName, are_alike, keys_of, plain_name
from athletes.core.roster import PersonKey, RosterEntry, RosterLine

Reason = Literal["name", "similar", "email"]
# A line names no more people than these whom it resembles: who has so many of one name knows it.
MOST_RESEMBLANCES = 3


@dataclass(frozen=True, slots=True)
class Somebody:
    """Whom a line may name: an athlete by number, or another line of the file (then `number` is 0)."""

    entry: RosterEntry
    number: int = 0
    line: int = 0
    has_left: bool = False


@dataclass(frozen=True, slots=True)
class Resemblance:
    """Somebody whom a line resembles, and in what: the same name, a similar one born the same day, the address."""

    who: Somebody
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class KnownLine:
    """A line of somebody on the roster; `measured` where it has a stature or mass that was never noted."""

    line: RosterLine
    who: Somebody
    measured: bool = False


@dataclass(frozen=True, slots=True)
class DoubtfulLine:
    """A line of nobody on the roster that resembles somebody."""

    line: RosterLine
    resembles: tuple[Resemblance, ...]


@dataclass(frozen=True, slots=True)
class RosterPlan:
    """What a file would do to a roster; each of its good lines stands in one of the three."""

    added: tuple[RosterLine, ...]
    doubtful: tuple[DoubtfulLine, ...]
    known: tuple[KnownLine, ...]

    @property
    def changes(self) -> bool:
        """Whether there is anything to store, or to decide."""
        return bool(self.added or self.doubtful or any(each.measured for each in self.known))

    @property
    def digest(self) -> str:
        """SHA-256 of all that it says: of two plans with the same one the same is confirmed."""
        told = json.dumps(asdict(self), sort_keys=True, default=str, ensure_ascii=True)
        return hashlib.sha256(told.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Choice:
    """Who a doubtful line is: somebody else, to be added; or whom it resembles, to be left, or changed by its details.

    With "leave" and "take", `number` is the athlete's; with "leave" it may be 0 for another line of the file.
    """

    what: Literal["add", "leave", "take"]
    number: int = 0


def plan_of(
    lines: Sequence[RosterLine], roster: Iterable[Somebody], measured: frozenset[int] = frozenset()
) -> RosterPlan:
    """Return what these lines would do to that roster; `measured` are lines of known people with a new measure."""
    people = list(roster)
    known: dict[PersonKey, Somebody] = {who.entry.key: who for who in people}
    index = _Index(people)
    added: list[RosterLine] = []
    doubtful: list[DoubtfulLine] = []
    for line in lines:
        if line.entry.key in known:
            continue
        resembles = index.like(line.entry)
        if resembles:
            doubtful.append(DoubtfulLine(line, resembles))
        else:
            added.append(line)
        index.add(Somebody(replace(line.entry, email=""), line=line.line))  # families share an address
    found = ((line, known.get(line.entry.key)) for line in lines)
    return RosterPlan(
        tuple(added), tuple(doubtful), tuple(KnownLine(line, who, line.line in measured) for line, who in found if who)
    )


def merged(known: RosterEntry, new: RosterEntry) -> RosterEntry:
    """Return somebody's entry with new details, and the new measures; what the new one does not say stays."""
    return RosterEntry(
        full_name=new.full_name,
        birth_on=new.birth_on or known.birth_on,
        stature_m=new.stature_m,
        mass_kg=new.mass_kg,
        email=new.email or known.email,
        notes=new.notes or known.notes,
    )


@dataclass(slots=True)
class _Index:
    """People by what a line may share with them."""

    people: list[Somebody]
    _by_name: dict[tuple[str, ...], list[Somebody]] = field(default_factory=dict)
    _by_birth: dict[object, list[tuple[PlainName, Somebody]]] = field(default_factory=dict)
    _by_email: dict[str, list[Somebody]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for who in self.people:
            self.add(who)

    def add(self, who: Somebody) -> None:
        name = plain_name(who.entry.full_name)
        if name.words:
            self._by_name.setdefault(name.words, []).append(who)
        if who.entry.email:
            self._by_email.setdefault(who.entry.email.casefold(), []).append(who)
        if who.entry.birth_on and name.words:
            for key in keys_of(name):
                self._by_birth.setdefault((who.entry.birth_on, key), []).append((name, who))

    def like(self, entry: RosterEntry) -> tuple[Resemblance, ...]:
        """Return whom an entry resembles, those of the roster first, each once with every reason."""
        found: dict[tuple[int, int], tuple[Somebody, list[Reason]]] = {}
        for reason, who in self._found(entry):
            reasons = found.setdefault((who.number, who.line), (who, []))[1]
            if reason not in reasons:
                reasons.append(reason)
        ordered = sorted(found.values(), key=lambda each: (not each[0].number, each[0].number, each[0].line))
        return tuple(Resemblance(who, tuple(reasons)) for who, reasons in ordered[:MOST_RESEMBLANCES])

    def _found(self, entry: RosterEntry) -> Iterator[tuple[Reason, Somebody]]:
        name = plain_name(entry.full_name)
        yield from (("name", who) for who in self._by_name.get(name.words, ())[:MOST_RESEMBLANCES])
        if entry.email:
            yield from (("email", who) for who in self._by_email.get(entry.email.casefold(), ())[:MOST_RESEMBLANCES])
        if entry.birth_on:
            yield from (("similar", who) for who in islice(self._born_alike(entry, name), MOST_RESEMBLANCES))

    def _born_alike(self, entry: RosterEntry, name: PlainName) -> Iterator[Somebody]:
        seen: set[tuple[int, int]] = set()
        for key in keys_of(name):
            for other, who in self._by_birth.get((entry.birth_on, key), ()):
                if (who.number, who.line) not in seen and other.words != name.words and are_alike(name, other):
                    seen.add((who.number, who.line))
                    yield who
