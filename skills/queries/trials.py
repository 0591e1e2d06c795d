"""The trial of a draft criterion on a gym's own history. Reads only: nothing of it is stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from athletes.models import Athlete
from skills.core.criteria import Criterion
from skills.core.days import local_date, moment_us
from skills.core.replay import Move, Outcome, Past, Replay, replay
from skills.queries.books import Book, StepPage
from skills.queries.histories import histories_of
from skills.queries.timelines import kept_timelines

_ORDER: tuple[Move, ...] = ("no_longer", "later", "newly", "earlier", "same")


@dataclass(frozen=True, slots=True)
class TrialRow:
    """One athlete for whom the criterion was met once, or would have been: on which days of the gym's calendar."""

    athlete: Athlete
    outcome: Outcome
    then_on: date | None
    draft_on: date | None


@dataclass(frozen=True, slots=True)
class Trial:
    """A replay as a page tells it: the rows whose moment moves first, those who still train here for today."""

    replay: Replay
    rows: tuple[TrialRow, ...]
    losing: tuple[Athlete, ...]
    gaining: tuple[Athlete, ...]

    @property
    def moved(self) -> tuple[TrialRow, ...]:
        """The rows for whom the draft makes a difference."""
        return tuple(row for row in self.rows if row.outcome.move != "same")


def replay_of(book: Book, step: StepPage, draft: Criterion, now: datetime) -> Trial:
    """Replay a draft at one step for every athlete of the gym; eight queries whatever their number.

    Raises as `skills.core.replay.replay` does.
    """
    athletes = {str(each.id): each for each in _athletes(book)}
    ids = [each.id for each in athletes.values()]
    histories, kept = histories_of(book, ids, {step.code}), kept_timelines(book, ids)
    pasts = {key: Past(histories[each.id], kept[each.id]) for key, each in athletes.items()}
    found = replay(book.rules, step.code, draft, pasts, moment_us(now))
    rows = [_row(athletes[each.athlete], each, book.rules.zone) for each in found.outcomes if each.move]
    today = local_date(moment_us(now), book.rules.zone)
    here = [(athletes[each.athlete], each) for each in found.outcomes if _is_here(athletes[each.athlete], today)]
    return Trial(
        found,
        tuple(sorted(rows, key=lambda row: _ORDER.index(row.outcome.move or "same"))),
        tuple(athlete for athlete, outcome in here if outcome.loses),
        tuple(athlete for athlete, outcome in here if outcome.gains),
    )


def _athletes(book: Book) -> list[Athlete]:
    return list(Athlete.objects.filter(gym=book.gym_id).select_related("person", "gym").order_by("number"))


def _is_here(athlete: Athlete, today: date) -> bool:
    return athlete.left_on is None or athlete.left_on > today


def _row(athlete: Athlete, outcome: Outcome, zone: str) -> TrialRow:
    return TrialRow(athlete, outcome, _day(outcome.then_us, zone), _day(outcome.draft_us, zone))


def _day(us: int | None, zone: str) -> date | None:
    return None if us is None else local_date(us, zone)
