"""How athletes stand at several steps each and with what help, kept in the process until it may have changed.

Reading the facts of thirty athletes and looking at them takes half a second, and each tablet asks for its board every
three seconds. Facts are appended and never edited, so their numbers are their version: one query, by the indexes alone.
Ask outside of transactions that may be rolled back.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.db.models import Count, F, QuerySet, Value, Window
from django.db.models.functions import RowNumber

from athletes.models import Caution, CautionLift
from skills.core.days import day_starts_us, local_date, moment_us
from skills.core.facts import History
from skills.core.readiness import StepStanding, look_at
from skills.models import Attempt, AttemptVoid, Opening, SignOff
from skills.queries.books import Book
from skills.queries.histories import telling_histories_of
from skills.queries.timelines import Timelines

Version = tuple[tuple[int, int], ...]

_MOST_KEPT: Final = 4096


@dataclass(frozen=True, slots=True)
class Look:
    """How an athlete stands at some steps, by code, from one moment until just before another.

    `timelines` are those it was made with: they may be read just before a fact is stored that `version` counts, or be
    made anew with no fact. `help` has assistance and variant of the last judged try at each step, by its id; none where
    none was judged.
    """

    book: Book
    version: Version
    timelines: Timelines
    from_us: int
    until_us: int
    steps: Mapping[str, StepStanding]
    help: Mapping[UUID, tuple[str, str]]

    def answers(self, book: Book, version: Version, timelines: Timelines, codes: Collection[str], us: int) -> bool:
        """Whether another look would say the same of these steps."""
        same = self.book is book and self.version == version and self.timelines == timelines
        return same and self.from_us <= us < self.until_us and self.steps.keys() >= {*codes}


_looks: dict[UUID, Look] = {}


def looks_at(
    book: Book, asked: Mapping[UUID, Collection[str]], timelines: Mapping[UUID, Timelines], now: datetime
) -> Mapping[UUID, Look]:
    """Return how each athlete stands at least at the steps asked for: one query, and seven more where facts are new."""
    us, versions = moment_us(now), _versions(book, asked.keys())
    kept = {key: look for key in asked if (look := _looks.get(key))}  # another thread may clear them meanwhile
    found = {
        key: look for key, look in kept.items() if look.answers(book, versions[key], timelines[key], asked[key], us)
    }
    stale = {key: codes for key, codes in asked.items() if key not in found}
    fresh = _look(book, stale, versions, timelines, us) if stale else {}
    if len(_looks) > _MOST_KEPT:
        _looks.clear()
    _looks.update(fresh)
    return {**found, **fresh}


def _look(
    book: Book,
    asked: Mapping[UUID, Collection[str]],
    versions: Mapping[UUID, Version],
    timelines: Mapping[UUID, Timelines],
    us: int,
) -> dict[UUID, Look]:
    helped = _help_of(book, asked.keys())
    histories = telling_histories_of(book, asked.keys(), set[str]().union(*asked.values()))
    looks = {}
    for key, codes in asked.items():
        history = histories[key]
        facts, bare = history.by_step(), replace(history, attempts=(), openings=(), sign_offs=())
        steps = {code: look_at(book.rules, code, facts.get(code, bare), timelines[key], us) for code in codes}
        until_us = min(_moments_ahead(book, history, steps, us))
        looks[key] = Look(book, versions[key], timelines[key], us, until_us, steps, helped[key])
    return looks


def _help_of(book: Book, athlete_ids: Collection[UUID]) -> Mapping[UUID, Mapping[UUID, tuple[str, str]]]:
    latest_first = [F("happened_at").desc(), F("pk").desc()]
    rank = Window(RowNumber(), partition_by=[F("athlete"), F("step")], order_by=latest_first)
    judged = Attempt.objects.filter(gym=book.gym_id, athlete__in=athlete_ids, void=None, source=Attempt.Source.JUDGED)
    found: dict[UUID, dict[UUID, tuple[str, str]]] = {key: {} for key in athlete_ids}
    last = judged.annotate(rank=rank).filter(rank=1).values_list("athlete", "step", "assistance", "variant")
    for athlete_id, step_id, assistance, variant in last:
        found[athlete_id][step_id] = (assistance, variant)
    return found


def _moments_ahead(book: Book, history: History, steps: Mapping[str, StepStanding], us: int) -> Iterator[int]:
    """Yield the moments after this one at which an answer may change with no new fact: the next day's start first.

    Windows pass and re-checks fall due where a day begins; the others are facts that say when.
    """
    zone = book.rules.zone
    yield day_starts_us(local_date(us, zone) + timedelta(days=1), zone)
    yield from (each for each in _told(book, history, steps) if each > us)


def _told(book: Book, history: History, steps: Mapping[str, StepStanding]) -> Iterator[int]:
    for facts in (history.attempts, history.voids, history.openings, history.sign_offs, history.lifts):
        yield from (fact.happened_us for fact in facts)
    for caution in history.cautions:
        yield from filter(None, (caution.from_us, caution.until_us))
    for code, standing in steps.items():
        yield from (change.from_us for change in standing.timeline.changes)
        yield from (criterion.from_us for criterion in book.rules.steps[code].criteria)


def _versions(book: Book, athlete_ids: Collection[UUID]) -> Mapping[UUID, Version]:
    """Return how many facts of each kind there are of each athlete; one query."""
    of = {"gym": book.gym_id, "athlete__in": athlete_ids}
    tables: list[QuerySet[Any]] = [
        model.objects.filter(**of).annotate(whose=F("athlete"))
        for model in (Attempt, AttemptVoid, Opening, SignOff, Caution)
    ]
    lifts = CautionLift.objects.filter(gym=book.gym_id, caution__athlete__in=athlete_ids)
    tables.append(lifts.annotate(whose=F("caution__athlete")))
    first, *others = (
        rows.order_by().values("whose").annotate(many=Count("*"), kind=Value(kind)).values_list("whose", "kind", "many")
        for kind, rows in enumerate(tables)
    )
    found: dict[UUID, Version] = dict.fromkeys(athlete_ids, ())
    for whose, kind, many in sorted(first.union(*others, all=True)):
        found[whose] = (*found[whose], (kind, many))
    return found
