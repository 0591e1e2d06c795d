"""An athlete's own page: the next step, the last tries at it, the path so far."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from athletes.models import Athlete
from skills.core import facts
from skills.core.days import moment_us
from skills.core.findings import Paused
from skills.core.readiness import StepStanding
from skills.core.timeline import Change, Timeline
from skills.models import Attempt, SignOff
from skills.queries.books import Book, StepPage
from skills.queries.cautions import cautions_active
from skills.queries.evidence import decisions_of
from skills.queries.histories import attempt_fact
from skills.queries.looks import looks_at
from skills.queries.standings import next_step
from skills.queries.stops import stops_of
from skills.queries.teaching import StepWhole, step_whole
from skills.queries.timelines import Timelines, kept_timelines

LAST_TRIES = 20
LAST_DECISIONS = 20


@dataclass(frozen=True, slots=True)
class StepOnPath:
    """A step that was opened: how it stands now, since when it is open and since when passed (None: not)."""

    page: StepPage
    now: Change
    opened_us: int | None
    passed_us: int | None


@dataclass(frozen=True, slots=True)
class NextStep:
    """The step to practise next, how the athlete stands at it, and the last tries at it, the oldest first."""

    whole: StepWhole
    standing: StepStanding
    opened_us: int | None
    tries: tuple[facts.Attempt, ...]

    @property
    def seen_faults(self) -> tuple[str, ...]:
        """The codes of the faults of the last tries, the one that was seen last in front."""
        return tuple(dict.fromkeys(code for attempt in reversed(self.tries) for code in sorted(attempt.faults)))


@dataclass(frozen=True, slots=True)
class Progress:
    """What an athlete sees of themselves. `path` and `waiting` are in the order of the gym's skills.

    `decisions` are the last coaches' decisions, the newest first. `no_consent` says in words to what nobody agreed,
    where that stops a step; such a step is not the next one.
    """

    next: NextStep | None
    cautions: tuple[Paused, ...]
    path: tuple[StepOnPath, ...]
    waiting: tuple[StepOnPath, ...]
    decisions: tuple[SignOff, ...]
    no_consent: tuple[str, ...]

    @property
    def cleared(self) -> tuple[StepOnPath, ...]:
        """The steps with a clearance in effect."""
        return tuple(step for step in self.path if step.now.clearance)


def athlete_progress(book: Book, athlete: Athlete, now: datetime) -> Progress:
    """Return an athlete's progress at a moment, in sixteen queries at most, however long the history.

    How the athlete stands at the next step is kept in the process: once known, it costs one query until a fact is new.
    """
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    stops = stops_of(book, [athlete], {athlete.id: kept}, now)[athlete.id]
    code = next_step(book, kept, now, stopped=stops.codes)
    steps = [_on_path(page, kept[page.code], now) for page in book.steps.values()]
    return Progress(
        next=_next(book, athlete, code, kept, now) if code else None,
        cautions=tuple(_paused(row.loads, row.until_at) for row in cautions_active([athlete.id], now)),
        path=tuple(step for step in steps if step.opened_us or step.passed_us),
        waiting=tuple(step for step in steps if step.now.awaits),
        decisions=tuple(decisions_of(athlete)[:LAST_DECISIONS]),
        no_consent=stops.words_at(inverted=bool(stops.codes)),
    )


def next_page(book: Book, athlete: Athlete, now: datetime) -> StepPage | None:
    """Return the step that an athlete practises next, None where everything open is passed; two queries."""
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    stops = stops_of(book, [athlete], {athlete.id: kept}, now)[athlete.id]
    code = next_step(book, kept, now, stopped=stops.codes)
    return book.steps[code] if code else None


def _next(book: Book, athlete: Athlete, code: str, kept: Timelines, now: datetime) -> NextStep:
    whole = step_whole(book, athlete.gym_id, code, now)
    if whole is None:
        raise LookupError(f"The book names a step {code!r} that the gym no longer has.")
    look = looks_at(book, {athlete.id: [code]}, {athlete.id: kept}, now)[athlete.id]
    return NextStep(whole, look.steps[code], _opened_us(kept[code], moment_us(now)), _last_tries(athlete, whole.page))


def _last_tries(athlete: Athlete, page: StepPage) -> tuple[facts.Attempt, ...]:
    rows = Attempt.objects.filter(gym=athlete.gym_id, athlete=athlete, step=page.id, void=None)
    return tuple(attempt_fact(row, page.code) for row in reversed(rows.order_by("-happened_at", "-id")[:LAST_TRIES]))


def _on_path(page: StepPage, timeline: Timeline, now: datetime) -> StepOnPath:
    us = moment_us(now)
    passed = timeline.spans_where(lambda change: change.base in {"passed", "recheck"}).covering(us)
    return StepOnPath(page, timeline.at(us), _opened_us(timeline, us), passed.from_us if passed else None)


def _opened_us(timeline: Timeline, us: int) -> int | None:
    """Return since when the step is open; None for one that is closed, and 0 for one that always was open."""
    opened = timeline.spans_where(lambda change: change.base != "closed").covering(us)
    return opened.from_us if opened else None


def _paused(loads: list[str], until_at: datetime | None) -> Paused:
    return Paused(tuple(sorted(loads)), moment_us(until_at) if until_at else None)
