"""Who may do what alone, with a coach present, or spotted: the clearances in effect at a moment, for open gym."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db.models import Q

from athletes.models import Athlete, Caution, Gym
from skills.core.days import day_starts_us, local_date, moment_us
from skills.core.timeline import Timeline
from skills.models import Attendance, StepTimeline
from skills.queries.books import Book, StepPage
from skills.queries.cautions import cautions_active
from skills.queries.stops import Stops, stops_of
from skills.queries.timelines import Timelines

CLEARANCES: Final = ("alone", "present", "spotted")
LONGEST_CLASS: Final = timedelta(hours=12)  # one that was left open since longer ago does not run any more


@dataclass(frozen=True, slots=True)
class Cleared:
    """A step with a clearance in effect; `trouble` where a coach has to look again at it or at what leads there."""

    page: StepPage
    clearance: str
    trouble: bool


@dataclass(frozen=True, slots=True)
class MayDo:
    """What one athlete may do, in the order of the gym's steps, and the cautions in force.

    Nobody may do what asks for a consent that is lacking, whatever the clearance: `no_consent` says where that is so.
    """

    athlete: Athlete
    cleared: tuple[Cleared, ...]
    cautions: tuple[Caution, ...]
    stops: Stops

    @property
    def no_consent(self) -> tuple[str, ...]:
        """To what nobody agreed, of that which the athlete is cleared for or may be asked for."""
        return self.stops.words_at(inverted=False)

    def under(self, clearance: str) -> tuple[Cleared, ...]:
        """Return the steps with that clearance."""
        return tuple(step for step in self.cleared if step.clearance == clearance)


@dataclass(frozen=True, slots=True)
class WhoMayDoWhat:
    """The list, by number, and the moment before which time alone changes nothing in it."""

    people: tuple[MayDo, ...]
    until_us: int


@dataclass(frozen=True, slots=True)
class _Kept:
    """The kept timeline of one athlete at one step that asks for a clearance."""

    athlete: Athlete
    page: StepPage
    timeline: Timeline


def who_may_do_what(book: Book, gym: Gym, now: datetime, *, present: bool) -> WhoMayDoWhat:
    """Return everybody with a clearance in effect at the moment; three queries, and one for those `present` today.

    Where only those present are asked for, all of them are listed, with or without a clearance.
    """
    us = moment_us(now)
    here = _present_today(gym, now) if present else {}
    kept = [each for each in _kept(book, gym, now) if not present or each.athlete.id in here]
    stops = _stops(book, _athletes(kept, here), kept, now)
    cleared = {key: tuple(_cleared(kept, key, us, each.codes)) for key, each in stops.items()}
    listed = [each for each in _athletes(kept, here) if present or cleared[each.id]]
    cautions = _cautions(listed, now)
    people = tuple(MayDo(each, cleared[each.id], cautions.get(each.id, ()), stops[each.id]) for each in listed)
    # At midnight somebody may have left, or come of age, and nobody is here yet.
    midnight = day_starts_us(local_date(us, gym.time_zone) + timedelta(days=1), gym.time_zone)
    return WhoMayDoWhat(people, min([*_changes_us(kept, us), *_ends_us(people), midnight]))


def _present_today(gym: Gym, now: datetime) -> Mapping[UUID, Athlete]:
    """Return who is marked present in a class that began today, or that began late yesterday and still runs."""
    start = now.astimezone(gym.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    late = Q(session__starts_at__gte=now - LONGEST_CLASS, session__ended_at=None)
    began = Attendance.objects.filter(gym=gym, session__starts_at__lte=now)
    rows = began.filter(Q(session__starts_at__gte=start) | late)
    return {row.athlete_id: row.athlete for row in rows.select_related("athlete__person", "athlete__gym")}


def _kept(book: Book, gym: Gym, now: datetime) -> Iterator[_Kept]:
    today = now.astimezone(gym.zone).date()
    rows = StepTimeline.objects.filter(gym=gym).exclude(athlete__left_on__lte=today)
    for row in rows.select_related("athlete__person", "athlete__gym"):
        page = book.steps[book.codes[row.step_id]]
        if book.rules.steps[page.code].asks_clearance:
            yield _Kept(row.athlete, page, Timeline.from_json(row.changes))


def _athletes(kept: Collection[_Kept], here: Mapping[UUID, Athlete]) -> list[Athlete]:
    found = {each.athlete.id: each.athlete for each in kept} | {**here}
    return sorted(found.values(), key=lambda athlete: athlete.number)


def _stops(book: Book, athletes: Collection[Athlete], kept: Collection[_Kept], now: datetime) -> Mapping[UUID, Stops]:
    timelines = {athlete.id: Timelines(book.rules, {}) for athlete in athletes}
    for each in kept:
        timelines[each.athlete.id][each.page.code] = each.timeline
    return stops_of(book, athletes, timelines, now)


def _cleared(kept: Collection[_Kept], athlete_id: UUID, us: int, stopped: Collection[str]) -> Iterator[Cleared]:
    for each in kept:
        change = each.timeline.at(us)
        if each.athlete.id == athlete_id and change.clearance and each.page.code not in stopped:
            yield Cleared(each.page, change.clearance, change.trouble)


def _cautions(athletes: Collection[Athlete], now: datetime) -> Mapping[UUID, tuple[Caution, ...]]:
    found: dict[UUID, tuple[Caution, ...]] = {}
    for caution in cautions_active([athlete.id for athlete in athletes], now):
        found[caution.athlete_id] = (*found.get(caution.athlete_id, ()), caution)
    return found


def _changes_us(kept: Collection[_Kept], us: int) -> Iterator[int]:
    """Yield the next moment at which time alone changes what is told of a step."""
    for each in kept:
        now = each.timeline.at(us)
        told = (now.clearance, now.trouble and bool(now.clearance))
        ahead = (change for change in each.timeline.changes if change.from_us > us)
        later = (each for each in ahead if (each.clearance, each.trouble and bool(each.clearance)) != told)
        if change := next(later, None):
            yield change.from_us


def _ends_us(people: Collection[MayDo]) -> Iterator[int]:
    for person in people:
        yield from (moment_us(caution.until_at) for caution in person.cautions if caution.until_at)
