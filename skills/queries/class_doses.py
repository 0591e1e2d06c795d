"""How much of a step somebody does in a rotation: what a coach put into the week, else what the best tries bear."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Max

from athletes.models import Athlete
from skills.core.days import moment_us
from skills.core.dose_limits import BEST_WEEKS
from skills.core.dose_portions import Person, StepCase, wanted
from skills.core.facts import UNASSISTED
from skills.core.portions import Portion
from skills.core.weeks import week_on
from skills.models import Attempt, DoseChange, TrainingSession
from skills.queries.books import Book
from skills.queries.doses import own_portions, portion_of, targets_of
from skills.queries.returns import days_away

Pair = tuple[UUID, str]


def class_doses(
    book: Book, session: TrainingSession, athletes: Collection[Athlete], codes: Collection[str], now: datetime
) -> Mapping[Pair, Portion | None]:
    """Return how much each of these does of each step, by athlete and code; None where a coach said: not this week.

    Five queries at most, for any number of them. The room of somebody's week is not looked at: a class is coached.
    """
    codes = [code for code in codes if code in book.steps]
    own, bests = own_portions(book, codes), _bests(book, athletes, codes, now)
    changes = _changes(book, athletes, now)
    away = days_away(session, [athlete.id for athlete in athletes])
    today = now.astimezone(session.gym.zone).date()
    found: dict[Pair, Portion | None] = {}
    for athlete in athletes:
        person = Person(minor=athlete.is_minor(today), days_away=away.get(athlete.id, 0))
        for code in codes:
            pair = (athlete.id, code)
            if pair in changes:
                found[pair] = changes[pair]
            else:
                case = _case(book, code, own[code], bests.get(pair, (0, 0)), moment_us(now))
                found[pair] = wanted(case, person).portion
    return found


def _case(book: Book, code: str, own: Portion, bests: tuple[int, int], us: int) -> StepCase:
    tenths, reps = targets_of(book.rules.steps[code], us)
    return StepCase(
        code=code,
        skill=book.steps[code].skill_slug,
        standing="open",
        own=own,
        target_tenths=tenths,
        target_reps=reps,
        best_tenths=bests[0],
        best_reps=bests[1],
    )


def _bests(
    book: Book, athletes: Collection[Athlete], codes: Collection[str], now: datetime
) -> Mapping[Pair, tuple[int, int]]:
    """Return the longest clean unhelped hold in tenths and the most such reps of the last weeks, as doses go by."""
    clean = Attempt.objects.filter(
        gym=book.gym_id,
        athlete__in=athletes,
        step__in=[book.steps[code].id for code in codes],
        void=None,
        happened_at__range=(now - timedelta(weeks=BEST_WEEKS), now),
        faults=[],
        missed=[],
        pain=False,
        closed_try=False,
        variant="",
        assistance=UNASSISTED,
    ).exclude(source=Attempt.Source.OWN)
    rows = clean.order_by().values_list("athlete", "step").annotate(held=Max("hold_tenths"), reps=Max("reps"))
    return {(athlete, book.codes[step]): (held or 0, 0 if held else reps or 0) for athlete, step, held, reps in rows}


def _changes(book: Book, athletes: Collection[Athlete], now: datetime) -> Mapping[Pair, Portion | None]:
    """Return the changes of the week that stand, the latest of each athlete and step; one query."""
    weeks = {week_on(moment_us(now), athlete.gym.time_zone) for athlete in athletes}
    rows = DoseChange.objects.filter(gym=book.gym_id, athlete__in=athletes, week_on__in=weeks)
    latest = {(row.athlete_id, book.codes[row.step_id]): row for row in rows.order_by("recorded_at", "pk")}
    return {pair: portion_of(row) for pair, row in latest.items() if not row.taken_back}
