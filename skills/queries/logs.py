"""What a coach must see of one athlete to log an attempt, and what an attempt has just done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from athletes.models import Athlete, Caution, Gym
from skills.core.days import moment_us
from skills.core.entries import Result, mistakes_in
from skills.core.readiness import StepStanding, look_at
from skills.core.timeline import Awaits, Change, Timeline
from skills.models import Attempt, Attendance, BarCheck, Fault, TrainingSession
from skills.queries.bars import checks_on_day, standing_checks
from skills.queries.books import Book, StepPage
from skills.queries.cautions import cautions_active
from skills.queries.class_runs import planned, run_now, steps_by_plan
from skills.queries.histories import histories_of
from skills.queries.returns import days_away
from skills.queries.standings import Back, hand_out
from skills.queries.stops import Stops, stops_of
from skills.queries.timelines import Timelines, kept_timelines


@dataclass(frozen=True, slots=True)
class Choice:
    """A step, how the athlete stands at it, and how they stood before that."""

    page: StepPage
    now: Change
    before: Change

    @classmethod
    def at(cls, page: StepPage, timeline: Timeline, us: int) -> Choice:
        """Read a step's timeline at a moment."""
        now = timeline.at(us)
        return cls(page, now, timeline.at(now.from_us - 1))


@dataclass(frozen=True, slots=True)
class Panel:
    """One athlete, ready to log: the step in hand (None when everything open is passed) and what matters for it.

    `stops` has the name on the board, and the steps that ask for a consent which is lacking. `last` is the athlete's
    last try at the step that stands, `remembered` the last judged one; `checks` today's last check of each low bar;
    `dangerous` the codes of the faults that put the athlete at risk; `back` says who comes back after weeks.
    """

    athlete: Athlete
    page: StepPage | None
    standing: StepStanding | None
    cautions: tuple[Caution, ...]
    last: Attempt | None
    remembered: Attempt | None
    checks: tuple[BarCheck, ...]
    choices: tuple[Choice, ...]
    dangerous: frozenset[str]
    back: Back | None
    stops: Stops

    @property
    def stopped(self) -> bool:
        """Whether the step in hand asks for a consent that is lacking."""
        return self.page is not None and self.page.code in self.stops.codes

    @property
    def paused(self) -> bool:
        """Whether a caution forbids the step in hand now."""
        return self.standing is not None and self.standing.now.state == "paused"

    @property
    def closed(self) -> bool:
        """Whether the step in hand is not open to the athlete."""
        return self.standing is not None and self.standing.now.base == "closed"

    @property
    def bar_unchecked(self) -> bool:
        """Whether the step in hand waits for a low bar to be looked over today."""
        return self.page is not None and self.page.form.low_bar_check and not self.checks


def panel_of(
    book: Book, session: TrainingSession, athlete: Athlete, now: datetime, step_id: UUID | None = None
) -> Panel:
    """Return the panel of an athlete: of the step asked for, else of the one in hand."""
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    who = _someone(book, athlete, kept, now)
    asked = book.step(step_id) if step_id else None
    page, back = (asked, None) if asked else _in_hand(book, session, who, now)
    last = last_try(athlete, page.id) if page else None
    return Panel(
        athlete=athlete,
        page=page,
        standing=_standing(book, athlete, page, kept, now) if page else None,
        cautions=tuple(cautions_active([athlete.id], now)),
        last=last,
        remembered=_judged_before(last),
        checks=tuple(standing_checks(checks_on_day(athlete.gym, now))) if page and page.form.low_bar_check else (),
        choices=tuple(Choice.at(step, kept[step.code], moment_us(now)) for step in book.steps.values()),
        dangerous=dangerous_faults(page.id) if page else frozenset(),
        back=back,
        stops=who.stops,
    )


@dataclass(frozen=True, slots=True)
class _Someone:
    athlete: Athlete
    kept: Timelines
    stops: Stops


def _someone(book: Book, athlete: Athlete, kept: Timelines, now: datetime) -> _Someone:
    return _Someone(athlete, kept, stops_of(book, [athlete], {athlete.id: kept}, now)[athlete.id])


def _in_hand(book: Book, session: TrainingSession, who: _Someone, now: datetime) -> tuple[StepPage | None, Back | None]:
    there = Attendance.objects.filter(session=session, athlete=who.athlete).annotate(planned=planned(session))
    chosen, is_planned = there.values_list("step_id", "planned").first() or (None, False)
    focus = session.focus.code if session.focus else None
    said = {who.athlete.id: book.codes[chosen]} if chosen else {}
    by_plan = steps_by_plan(book, session, run_now(session, now), said) if is_planned else said
    hand = by_plan.get(who.athlete.id)
    away = {} if hand else days_away(session, [who.athlete.id])
    code, back = hand_out(
        book, who.kept, now, chosen=hand, focus=focus, days_away=away.get(who.athlete.id), stopped=who.stops.codes
    )
    return book.steps[code] if code else None, back


def step_to_move_to(
    book: Book, session: TrainingSession, athlete: Athlete, *, attempt: Attempt, result: Result, now: datetime
) -> StepPage:
    """Return the step at which an attempt is entered again for another athlete.

    It is the attempt's own step where that was open to them, else their step in hand where the result can be one of
    that step, else the attempt's own step all the same: to be tried before it is open, with a reason.
    """
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    same = book.steps[book.codes[attempt.step_id]]
    if kept[same.code].at(moment_us(attempt.happened_at)).base != "closed":
        return same
    hand, _ = _in_hand(book, session, _someone(book, athlete, kept, now), now)
    return hand if hand and not mistakes_in(result, hand.form) else same


def _standing(book: Book, athlete: Athlete, page: StepPage, kept: Timelines, now: datetime) -> StepStanding:
    history = histories_of(book, [athlete.id], [page.code])[athlete.id]
    return look_at(book.rules, page.code, history, kept, moment_us(now))


def dangerous_faults(step_id: UUID) -> frozenset[str]:
    """Return the codes of the faults of a step that are dangerous."""
    return frozenset(Fault.objects.filter(step=step_id, dangerous=True).values_list("code", flat=True))


def last_try(athlete: Athlete, step_id: UUID) -> Attempt | None:
    """Return the athlete's last attempt at a step that stands."""
    return _tries(athlete.gym_id, athlete.id, step_id).first()


def _judged_before(last: Attempt | None) -> Attempt | None:
    """Return the last judged attempt of that athlete and step: the help and form that a coach saw last."""
    if last is None or last.source == Attempt.Source.JUDGED:
        return last
    return _tries(last.gym_id, last.athlete_id, last.step_id).filter(source=Attempt.Source.JUDGED).first()


def _tries(gym_id: UUID, athlete_id: UUID, step_id: UUID) -> QuerySet[Attempt]:
    tries = Attempt.objects.filter(gym=gym_id, athlete=athlete_id, step=step_id, void=None)
    return tries.order_by("-happened_at", "-pk")


def bars_checked_before(gym: Gym) -> list[str]:
    """Return the names of bars that were checked before, for typing one again."""
    return sorted(set(BarCheck.objects.filter(gym=gym).order_by("-happened_at").values_list("bar", flat=True)[:200]))


def stored_attempt(gym: Gym, attempt_id: UUID) -> Attempt | None:
    """Return the gym's attempt with that id, for an answer to a form that was sent twice."""
    return Attempt.objects.filter(gym=gym, pk=attempt_id).first()


@dataclass(frozen=True, slots=True)
class News:
    """What changed with one attempt: steps passed, steps opened, and gates that wait for a coach since.

    `again` are steps that were passed before and count in full again: a re-check was due there, or below them.
    """

    passed: tuple[StepPage, ...]
    again: tuple[StepPage, ...]
    opened: tuple[StepPage, ...]
    waiting: tuple[tuple[StepPage, Awaits], ...]


def news_of(book: Book, attempt: Attempt, choices: tuple[Choice, ...]) -> News:
    """Return what stands since the very moment of the attempt: its doing, and still so.

    A step that the attempt paused passed or opened before it: a pause is no news of either kind.
    """
    moment = moment_us(attempt.happened_at)
    since = [choice for choice in choices if choice.now.from_us == moment and choice.now.state != "paused"]
    passed = [choice for choice in since if choice.now.base == "passed"]
    opened = [choice for choice in since if choice.now.base == "working" and choice.before.base == "closed"]
    return News(
        passed=tuple(c.page for c in passed if c.before.base not in {"passed", "recheck"}),
        again=tuple(c.page for c in passed if c.before.base == "recheck" or (c.before.trouble and not c.now.trouble)),
        opened=tuple(c.page for c in opened if book.rules.steps[c.page.code].requires),
        waiting=tuple((c.page, c.now.awaits) for c in since if c.now.awaits),
    )
