"""What athletes practise by themselves, entered by them or by a guardian for a ward; marked as their own for ever.

It goes the way of every attempt (`services.attempts`): the same refusals, the same pause for pain. It counts only
where a criterion looks at own entries, and nowhere for a step with a clearance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from athletes.access.records import athletes_in_sight
from athletes.models import Athlete, Membership
from skills.core.days import day_starts_us, moment_of, moment_us
from skills.core.entries import Mistake, Result
from skills.core.own_practice import MOST_SETS, mistakes_in_day, mistakes_in_standing, moments_of_sets
from skills.models import Attempt, AttemptVoid
from skills.queries.books import Book, StepPage, book_of
from skills.queries.cautions import loads_forbidden_between
from skills.queries.timelines import kept_timelines
from skills.services.attempts import (
    AttemptEntry,
    AttemptRefusedError,
    IdTakenError,
    Logged,
    NoRightError,
    NotThereError,
    log_attempt,
    void_attempt,
)
from skills.services.readiness import lock_athlete


@dataclass(frozen=True, slots=True)
class OwnEntry:
    """What was practised on a day: `sets` holds of `hold_tenths` each, or as many sets of `reps`.

    `id` is made with the form: the same id twice is one entry.
    """

    id: UUID
    athlete_id: UUID
    step_id: UUID
    practised_on: date
    sets: int
    hold_tenths: int | None
    reps: int = 1
    effort: int | None = None
    pain: bool = False
    note: str = ""


def enter_own_practice(*, by: Membership, entry: OwnEntry) -> Logged:
    """Store own practice, once whatever the number of calls; holds are one attempt, sets of reps one each.

    Raises AttemptRefusedError with every mistake, IdTakenError when the id stands for something else.
    """
    with transaction.atomic():
        athlete = _athlete(by, entry)
        book = book_of(athlete.gym)
        page = book.step(entry.step_id)
        if page is None:
            raise NotThereError(Mistake("step", "There is no such step in this gym."))
        now = _moment_of_first(entry, athlete) or timezone.now()
        entries = list(_entries(entry, page, athlete, now))
        if not Attempt.objects.filter(pk=entry.id).exists():
            _refuse_mistakes(book, athlete, page, entry, [each.happened_at for each in entries])
        return [log_attempt(by=by, entry=each) for each in entries][-1]


def _athlete(by: Membership, entry: OwnEntry) -> Athlete:
    """Lock the athlete; nobody but themselves or a guardian of theirs enters own practice."""
    if by.is_staff_member or not athletes_in_sight(by).filter(pk=entry.athlete_id).exists():
        raise NotThereError(Mistake("athlete", "There is no such athlete to enter own practice for."))
    return lock_athlete(entry.athlete_id)


def _moment_of_first(entry: OwnEntry, athlete: Athlete) -> datetime | None:
    """Return when the last set of the same entry happened, where it is stored: the second call means that one.

    Raises IdTakenError where another number of sets, or another day, stands under this id.
    """
    stored = {row.id: row for row in Attempt.objects.filter(pk__in=[_id(entry, n) for n in range(MOST_SETS)])}
    if not stored:
        return None
    count = 1 if entry.hold_tenths is not None else entry.sets
    last = stored.get(_id(entry, count - 1))
    if last is None or len(stored) != count or _day(last, athlete) != entry.practised_on:
        raise IdTakenError
    return last.happened_at


def _day(row: Attempt, athlete: Athlete) -> date:
    return row.happened_at.astimezone(athlete.gym.zone).date()


def _id(entry: OwnEntry, number: int) -> UUID:
    return uuid5(entry.id, str(number)) if number else entry.id


def _entries(entry: OwnEntry, page: StepPage, athlete: Athlete, now: datetime) -> Iterator[AttemptEntry]:
    """Yield the attempts: pain is felt in the last set, so that what it pauses is not what came before."""
    sets = min(max(entry.sets, 1), MOST_SETS)
    held = page.form.is_hold or entry.hold_tenths is not None
    count = 1 if held else sets
    moments = moments_of_sets(entry.practised_on, athlete.gym.time_zone, moment_us(now), count)
    for number, us in enumerate(moments):
        is_last = number == count - 1
        yield AttemptEntry(
            id=_id(entry, number),
            athlete_id=athlete.id,
            step_id=page.id,
            session_id=None,
            happened_at=moment_of(us),
            source=Attempt.Source.OWN,
            result=Result(
                hold_tenths=entry.hold_tenths,
                reps=sets if held else entry.reps,
                effort=entry.effort,
                pain=entry.pain and is_last,
            ),
            note=entry.note if is_last else "",
        )


def _refuse_mistakes(book: Book, athlete: Athlete, page: StepPage, entry: OwnEntry, moments: list[datetime]) -> None:
    mistakes = [*mistakes_in_day(entry.practised_on, timezone.localdate(timezone=athlete.gym.zone))]
    if not 1 <= entry.sets <= MOST_SETS:
        mistakes.append(Mistake("sets", f"Sets are a whole number from 1 to {MOST_SETS}."))
    if not mistakes:
        mistakes += _in_standing(book, athlete, page, entry.practised_on, moments)
    if mistakes:
        raise AttemptRefusedError(*mistakes)


def _in_standing(book: Book, athlete: Athlete, page: StepPage, day: date, moments: list[datetime]) -> Iterator[Mistake]:
    rule = book.rules.steps[page.code]
    timeline = kept_timelines(book, [athlete.id])[athlete.id][page.code]
    day_us = day_starts_us(day, athlete.gym.time_zone)
    yield from mistakes_in_standing(
        timeline,
        day_us,
        (*(moment_us(at) for at in moments), moment_us(timezone.now())),
        asks_clearance=rule.asks_clearance or rule.inverted,
        low_bar=page.form.low_bar_check,
    )
    if rule.loads & loads_forbidden_between(athlete.id, moment_of(day_us), moments[-1]):
        yield Mistake("step", "A caution forbade this step on that day: nothing is entered for it. Ask a coach.")


def take_back_own_practice(*, by: Membership, attempt: Attempt) -> AttemptVoid:
    """Take an own entry back on the day on which it was made, by who made it.

    What pain paused stays paused until a coach lifts it. Raises NoRightError for somebody else's entry,
    AttemptRefusedError on a later day, AlreadyVoidError the second time.
    """
    if attempt.source != Attempt.Source.OWN or attempt.logged_by_id != by.id:
        raise NoRightError(Mistake("", "Only who entered own practice takes it back; a coach can, too."))
    zone = attempt.athlete.gym.zone
    if attempt.recorded_at.astimezone(zone).date() != timezone.localdate(timezone=zone):
        raise AttemptRefusedError(Mistake("", "Own entries are taken back on the day of entering them: ask a coach."))
    return void_attempt(by=by, attempt=attempt, reason="Taken back by who entered it.")
