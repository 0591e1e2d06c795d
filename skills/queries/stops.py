"""Steps at which an athlete is stopped, since who decides has not agreed to going upside down or to being spotted.

That is no fact of readiness: what was logged, passed and cleared stays, and goes on as soon as consent is given.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from athletes.models import Athlete
from athletes.queries.consents import InSight, in_sight
from skills.core.days import moment_us
from skills.core.stops import kinds_asked
from skills.queries.books import Book
from skills.queries.timelines import Timelines


@dataclass(frozen=True, slots=True)
class Stops:
    """How an athlete stands on a board: the name there, and the codes of the steps that ask for a lacking consent.

    `name` is "" where the number stands alone; `lacking` has the words by the kind of consent; `upside_down` says
    whether a step that is open to the athlete inverts.
    """

    name: str
    codes: frozenset[str]
    lacking: Mapping[str, str]
    upside_down: bool

    def words_at(self, *, inverted: bool) -> tuple[str, ...]:
        """Return to what nobody agreed, as far as a coach has to know it beside a step.

        A hand may be needed at any step; going upside down is told beside what inverts, and as long as that is open.
        """
        return tuple(self.lacking[kind] for kind in self.kinds_at(inverted=inverted))

    def kinds_at(self, *, inverted: bool) -> tuple[str, ...]:
        """Return the same as kinds of consent."""
        told = {"spotting", *(("inversion",) if inverted or self.upside_down else ())}
        return tuple(kind for kind in self.lacking if kind in told)


def stops_of(
    book: Book, athletes: Collection[Athlete], kept: Mapping[UUID, Timelines], now: datetime
) -> Mapping[UUID, Stops]:
    """Return how each athlete stands on a board; one query. The athletes come with person and gym."""
    sights = in_sight(athletes, now)
    return {athlete.id: _stops(book, kept[athlete.id], sights[athlete.id], now) for athlete in athletes}


def _stops(book: Book, kept: Timelines, sight: InSight, now: datetime) -> Stops:
    codes = frozenset(stopped_steps(book, kept, sight.lacking, now))
    us, rules = moment_us(now), book.rules.steps
    upside_down = any(rules[code].inverted and kept[code].at(us).base != "closed" for code in codes)
    return Stops(sight.name, codes, sight.lacking, upside_down)


def stopped_steps(book: Book, kept: Timelines, lacking: Collection[str], now: datetime) -> Iterator[str]:
    """Yield the codes of the steps that ask for a consent which is lacking: all of these, open and closed ones."""
    us = moment_us(now)
    for code, rule in book.rules.steps.items() if lacking else ():
        asked = kinds_asked(inverted=rule.inverted, clearance=kept[code].at(us).clearance)
        if any(kind in lacking for kind in asked):
            yield code
