"""Keeps the timelines true: after every fact, in the same transaction."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from athletes.models import Athlete
from skills.core import facts
from skills.core.days import moment_of, moment_us
from skills.core.entries import CLOCK_LEEWAY_US
from skills.core.facts import History
from skills.core.readiness import DueOpening, evaluate, evaluate_step, openings_due
from skills.core.timeline import Timeline
from skills.models import Opening, StepTimeline
from skills.queries.books import Book
from skills.queries.histories import histories_of, opening_fact
from skills.queries.timelines import Timelines, kept_timelines


@dataclass(frozen=True, slots=True)
class Settled:
    """What a fact did to an athlete: all timelines as they are now, the changed ones, what opened by itself."""

    timelines: Mapping[str, Timeline]
    changed: Mapping[str, Timeline]
    opened: tuple[str, ...]


def lock_athlete(athlete_id: UUID) -> Athlete:
    """Lock the athlete's row until the transaction ends: the facts of one athlete come one after another.

    Raises Athlete.DoesNotExist. Two statements, because on PostgreSQL one that had waited for the lock would still
    see the gym, and with it the stamp of its rules, as it was when the statement began.
    """
    Athlete.objects.select_for_update().only("pk").get(pk=athlete_id)
    return Athlete.objects.select_related("gym", "person").get(pk=athlete_id)


def settle(
    *, book: Book, athlete: Athlete, touched: Collection[str], now: datetime, rules_changed: bool = False
) -> Settled:
    """Bring the kept timelines up to date after facts on the steps `touched`, and append openings that fell due.

    Must run inside the transaction that wrote the facts, with the athlete locked. A timeline that stays the
    same is not written, and what follows from it is not looked at.
    """
    return settle_known(known=Known(book, athlete), touched=touched, now=now, rules_changed=rules_changed)


def settle_known(*, known: Known, touched: Collection[str], now: datetime, rules_changed: bool = False) -> Settled:
    """Do the same from what was read before the facts were written, once they were added to it.

    After a change of the rules, a step may be due to open though no timeline moved.
    """
    book, athlete, kept = known.book, known.athlete, known.kept
    changed: dict[str, Timeline] = {}
    opened: list[str] = []
    dirty = set(touched)
    # A device's clock may be a little ahead. Nobody comes back when its moment has come, so what it opens then
    # is recorded now, for that moment.
    as_of_us = moment_us(now) + CLOCK_LEEWAY_US
    while dirty:
        moved = _reckon(known, dirty)
        changed |= moved
        due = openings_due(book.rules, kept, known.of(dirty), as_of_us) if moved or rules_changed else ()
        rules_changed = False
        dirty = {opening.step for opening in due}
        opened += sorted(dirty)
        if due:
            known.add(openings=_open(book, athlete, due))
    _store(book, athlete, changed)
    return Settled(kept, changed, tuple(opened))


class Known:
    """What is known of a locked athlete: the kept timelines, and facts, each read once and when it is needed."""

    def __init__(self, book: Book, athlete: Athlete) -> None:
        self.book, self.athlete = book, athlete
        self.kept = kept_timelines(book, [athlete.id])[athlete.id]
        self._codes: set[str] = set()
        self._history: History | None = None

    def of(self, codes: Collection[str]) -> History:
        """Return the history on at least these steps; a second reading takes in all that can follow from them."""
        if self._history is None:
            self._codes = set(codes)
            self._history = self._read(self._codes)
        elif new := set(codes) - self._codes:
            new = followed(self.book, new) - self._codes
            self._codes |= new
            self._history = _joined(self._history, self._read(new))
        return self._history

    def add(
        self,
        *,
        attempts: Iterable[facts.Attempt] = (),
        openings: Iterable[facts.Opening] = (),
        cautions: Iterable[facts.Caution] = (),
    ) -> None:
        """Take in facts that were appended since; attempts only at steps whose history was read before."""
        if self._history is not None:
            self._history = replace(
                self._history,
                attempts=(*self._history.attempts, *attempts),
                openings=(*self._history.openings, *openings),
                cautions=(*self._history.cautions, *cautions),
            )

    def _read(self, codes: Collection[str]) -> History:
        return histories_of(self.book, [self.athlete.id], codes)[self.athlete.id]


def _joined(history: History, more: History) -> History:
    """Return a history with the step facts of another one; everything else is whole in both."""
    return replace(
        history,
        attempts=(*history.attempts, *more.attempts),
        sign_offs=(*history.sign_offs, *more.sign_offs),
    )


def _reckon(known: Known, dirty: Collection[str]) -> dict[str, Timeline]:
    """Evaluate the dirty steps and whatever their changes reach, in the order of the graph; `kept` is updated."""
    book, kept = known.book, known.kept
    moved: dict[str, Timeline] = {}
    waiting = set(dirty)
    for code in book.rules.order:
        if code not in waiting:
            continue
        timeline = evaluate_step(book.rules, code, known.of(waiting), kept)
        if timeline != kept[code]:
            kept[code] = moved[code] = timeline
            waiting.update(book.rules.dependents(code))
    return moved


def followed(book: Book, codes: Collection[str]) -> set[str]:
    """Return these steps and all that follow from them."""
    found: set[str] = set()
    front = list(codes)
    while front:
        code = front.pop()
        if code not in found:
            found.add(code)
            front.extend(book.rules.dependents(code))
    return found


def _open(book: Book, athlete: Athlete, due: Collection[DueOpening]) -> list[facts.Opening]:
    rows = Opening.objects.bulk_create(
        Opening(
            gym_id=athlete.gym_id,
            athlete=athlete,
            step_id=book.steps[opening.step].id,
            happened_at=moment_of(opening.happened_us),
        )
        for opening in due
    )
    return [opening_fact(row, book.codes[row.step_id]) for row in rows]


def _store(book: Book, athlete: Athlete, timelines: Mapping[str, Timeline]) -> None:
    """Write timelines, one statement; those that say no more than no row would are removed."""
    bare = Timelines(book.rules, {})
    plain = [book.steps[code].id for code, timeline in timelines.items() if timeline == bare[code]]
    if plain:
        StepTimeline.objects.filter(athlete=athlete, step__in=plain).delete()
    rows = [
        StepTimeline(gym_id=athlete.gym_id, athlete=athlete, step_id=book.steps[code].id, changes=timeline.to_json())
        for code, timeline in timelines.items()
        if timeline != bare[code]
    ]
    if rows:
        StepTimeline.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["gym", "athlete", "step"], update_fields=["changes"]
        )


def rebuilt(*, book: Book, athlete: Athlete, now: datetime) -> Mapping[str, Timeline]:
    """Return all timelines of an athlete as the facts alone give them; those without facts are left out."""
    history = histories_of(book, [athlete.id])[athlete.id]
    bare = Timelines(book.rules, {})
    standing = evaluate(book.rules, history, moment_us(now))
    return {code: step.timeline for code, step in standing.steps.items() if step.timeline != bare[code]}


def rebuild_athlete(*, book: Book, athlete: Athlete, now: datetime, store: bool) -> tuple[str, ...]:
    """Return the codes whose kept bytes differ from a rebuild, and with `store` write the rebuilt ones."""
    rows = StepTimeline.objects.filter(athlete=athlete).values_list("step_id", "changes")
    before = {book.codes[step_id]: changes for step_id, changes in rows}
    after = rebuilt(book=book, athlete=athlete, now=now)
    bytes_after = {code: timeline.to_json() for code, timeline in after.items()}
    differing = tuple(sorted(c for c in {*before, *after} if before.get(c) != bytes_after.get(c)))
    if store and differing:
        bare = Timelines(book.rules, {})
        _store(book, athlete, {code: after.get(code, bare[code]) for code in differing})
    return differing
