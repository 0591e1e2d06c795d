"""What a class plan is made from: who is in the class and what is open to them, and the gym's stations."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from uuid import UUID

from athletes.models import Athlete, Gym
from athletes.queries.bodies import BodyNotes, body_notes
from skills.core.body_heights import Body, OutsideHumanRange, armpit_of, chest_of
from skills.core.days import moment_us
from skills.core.plan_asks import MOST_ACCESSORIES, Doable, Somebody, Stand
from skills.core.rotation.asks import Role
from skills.core.timeline import Change
from skills.models import Attempt, BarCheck, Step, TrainingSession, WorkPlace
from skills.queries.bars import checks_on_day, place_of, standing_checks
from skills.queries.boards import attendances_of
from skills.queries.books import Book
from skills.queries.returns import days_away
from skills.queries.standings import InHand, next_step, steps_in_hand
from skills.queries.timelines import Timelines, kept_timelines

_OPEN = frozenset({"working", "ready", "passed", "recheck"})


def retired_work_places_of(gym: Gym) -> list[WorkPlace]:
    """Return the stations that were taken out of use; one query."""
    return list(WorkPlace.objects.filter(gym=gym).exclude(retired_at=None))


def steps_to_serve(gym: Gym) -> list[Step]:
    """Return all steps of the gym, in the order of its skills; one query."""
    return list(Step.objects.filter(gym=gym).select_related("skill").order_by("skill__position", "position"))


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Codes of steps open to somebody and not planned: under a caution, or for want of a consent (in words)."""

    athlete: Athlete
    paused: tuple[str, ...]
    stopped: tuple[str, ...]
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Crowd:
    """Who is in a class: the athletes by number, what each may do today, and what is left out for whom."""

    athletes: tuple[Athlete, ...]
    people: tuple[Somebody, ...]
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True, slots=True)
class Left:
    """In which hole a plan left the bar of each station, by key, and when that plan was made."""

    at: datetime
    holes: Mapping[str, int] = field(default_factory=dict)


def work_places_of(gym: Gym) -> list[WorkPlace]:
    """Return the stations that are in use, in the gym's order, with their bars and steps; two queries."""
    rows = WorkPlace.objects.filter(gym=gym, retired_at=None).select_related("bar").prefetch_related("served__step")
    return list(rows)


def stands_of(gym: Gym, now: datetime, left: Left | None = None) -> list[Stand]:
    """Return the stations as a plan takes them, with the holes in which their bars are; three queries.

    A bar stands where it was checked today, or where a plan left it, whichever was said later.
    """
    checked = {check.of_id: check for check in standing_checks(checks_on_day(gym, now)) if check.of_id}
    return [_stand(row, checked.get(row.bar_id) if row.bar_id else None, left) for row in work_places_of(gym)]


def _stand(row: WorkPlace, check: BarCheck | None, left: Left | None) -> Stand:
    served = frozenset(link.step.code for link in row.served.all())
    bar = place_of(row.bar) if row.bar else None
    stand = Stand(str(row.id), row.kind, row.capacity, bar, serves=served or None)
    # Only a bar that is set has a hole; a mark of another kind of bar would say nothing.
    return replace(stand, hole=_hole(stand, check, left)) if stand.adjustable else stand


def _hole(stand: Stand, check: BarCheck | None, left: Left | None) -> int | None:
    planned = left.holes.get(stand.key) if left else None
    if planned is None or (left and check and check.recorded_at > left.at):
        return check.hole if check else None
    return planned


def crowd_of(book: Book, session: TrainingSession, now: datetime) -> Crowd:
    """Return everybody present, with a number of queries that does not grow with them."""
    attendances = list(attendances_of(session))
    athletes = [attendance.athlete for attendance in attendances]
    chosen = {row.athlete_id: row.step.code for row in attendances if row.step}
    focus = session.focus.code if session.focus else None
    away = days_away(session, [athlete.id for athlete in athletes])
    in_hand = steps_in_hand(book, athletes, now, chosen=chosen, focus=focus, days_away=away)
    kept = kept_timelines(book, [athlete.id for athlete in athletes])
    bodies, tried = body_notes(athletes), _tried(session.gym, athletes, now)
    known = {key: _Known(kept[key], bodies[key], tried.get(key, set()), now, focus) for key in kept}
    people = tuple(_somebody(book, hand, known[hand.athlete.id]) for hand in in_hand)
    left_out = (_left_out(book, hand, known[hand.athlete.id]) for hand in in_hand)
    return Crowd(tuple(athletes), people, tuple(left for left in left_out if left.paused or left.lacking))


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of somebody: timelines, body, the inverted steps tried before; as of a moment, in a class."""

    kept: Timelines
    notes: BodyNotes
    tried: Collection[UUID]
    now: datetime
    focus: str | None

    def at(self, book: Book) -> Mapping[str, Change]:
        """Return how they stand at each step, in the gym's order."""
        us = moment_us(self.now)
        return {code: self.kept[code].at(us) for code in book.steps}


def _tried(gym: Gym, athletes: Collection[Athlete], now: datetime) -> Mapping[UUID, set[UUID]]:
    """Return which inverted steps each has tried until then, in one query."""
    tried: dict[UUID, set[UUID]] = {}
    rows = Attempt.objects.filter(gym=gym, athlete__in=athletes, happened_at__lte=now, step__inverted=True, void=None)
    for athlete_id, step_id in rows.values_list("athlete", "step").distinct():
        tried.setdefault(athlete_id, set()).add(step_id)
    return tried


def _somebody(book: Book, hand: InHand, known: _Known) -> Somebody:
    at = {code: change for code, change in known.at(book).items() if code not in hand.stops.codes}
    doables = (_doable(book, code, role, at[code], known.tried) for code, role in _roles(book, hand, at, known))
    untouched = "spotting" in hand.stops.lacking
    body = _body(known.notes)
    return Somebody(
        str(hand.athlete.id),
        tuple(doable for doable in doables if not (untouched and doable.spotters)),
        chest=chest_of(body) if body else None,
        armpit=armpit_of(body) if body else None,
    )


def _left_out(book: Book, hand: InHand, known: _Known) -> LeftOut:
    at = {code: change for code, change in known.at(book).items() if change.base != "closed"}
    stopped = tuple(code for code in at if code in hand.stops.codes)
    inverted = any(book.rules.steps[code].inverted for code in stopped)
    return LeftOut(
        hand.athlete,
        paused=tuple(code for code, change in at.items() if change.state == "paused"),
        stopped=stopped,
        lacking=hand.stops.words_at(inverted=inverted),
    )


def _body(notes: BodyNotes) -> Body | None:
    """Return the heights that bars are set by; None where what was noted cannot be, which its page asks for anew."""
    try:
        return Body(
            stature_mm=notes.stature_m.mm if notes.stature_m else None,
            chest_mm=notes.chest_m.mm if notes.chest_m else None,
            armpit_mm=notes.armpit_m.mm if notes.armpit_m else None,
        )
    except OutsideHumanRange:
        return None


def _roles(book: Book, hand: InHand, at: Mapping[str, Change], known: _Known) -> Iterator[tuple[str, Role]]:
    """Yield what somebody may do today and as what; nothing that is closed, paused or stopped."""
    free = {code for code, change in at.items() if change.state in _OPEN}
    waiting = [code for code in book.steps if code in at and at[code].awaits and at[code].state != "paused"]
    yield from ((code, "test") for code in waiting)
    in_hand = _in_hand(book, hand, free, known)
    if in_hand:
        yield in_hand, "in_hand"
        before = [code for code in book.rules.steps[in_hand].requires if code in free and code != in_hand]
        yield from ((code, "earlier") for code in sorted(before))
    yield from ((code, "accessory") for code in _accessories(book, in_hand, free, at))


def _accessories(book: Book, in_hand: str | None, free: Collection[str], at: Mapping[str, Change]) -> list[str]:
    """Return side drills, those of the skill in hand first, and then the next steps of other skills.

    One for each kind of station that the step in hand is not done at comes first, so that nobody need stand idle. No
    next step of another skill that inverts or takes a coach's hands: these go to the step in hand.
    """
    skill = book.steps[in_hand].skill_slug if in_hand else None
    drills = [code for code in book.steps if code in free and book.steps[code].side_drill and code != in_hand]
    drills.sort(key=lambda code: book.steps[code].skill_slug != skill)
    found = [*drills, *_of_other_skills(book, skill, free, at)]
    kinds = {book.steps[in_hand].station} if in_hand else set[str]()
    firsts: list[str] = []
    for code in found:
        if book.steps[code].station not in kinds:
            kinds.add(book.steps[code].station)
            firsts.append(code)
    chosen = [*firsts, *(code for code in found if code not in firsts)][:MOST_ACCESSORIES]
    return [code for code in found if code in chosen]


def _of_other_skills(book: Book, skill: str | None, free: Collection[str], at: Mapping[str, Change]) -> Iterator[str]:
    done = {skill}
    for code, page in book.steps.items():
        if page.skill_slug in done or page.side_drill or code not in free or at[code].base == "passed":
            continue
        done.add(page.skill_slug)
        if not book.rules.steps[code].inverted and at[code].clearance != "spotted":
            yield code


def _in_hand(book: Book, hand: InHand, free: Collection[str], known: _Known) -> str | None:
    """Return the step in hand; where that is paused or stopped, the next one that is not."""
    if hand.page is not None and hand.page.code in free:
        return hand.page.code
    barred = {code for code in book.steps if code not in free}
    return next_step(book, known.kept, known.now, known.focus, barred)


def _doable(book: Book, code: str, role: Role, change: Change, tried: Collection[UUID]) -> Doable:
    page = book.steps[code]
    inverted = book.rules.steps[code].inverted
    # Who waits for the entrance has no clearance yet: the first try is made with a hand on the athlete.
    clearance = "spotted" if change.awaits == "entrance" and inverted else change.clearance
    return Doable(code, page.station, role, inverted, clearance, first_try=inverted and page.id not in tried)
