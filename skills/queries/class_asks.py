"""The ask of a class plan, from rows: of the whole class, or of what is left of it once a part is over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from skills.core.class_shape import Shape, Words
from skills.core.plan_asks import Limits, Somebody, Stand, ask_of
from skills.core.rotation.asks import Ask, Person, Role, Seat
from skills.models import TrainingSession
from skills.queries.books import book_of
from skills.queries.class_plans import Crowd, Left, crowd_of, stands_of
from skills.queries.kept_plans import WholePlan


@dataclass(frozen=True, slots=True)
class Asked:
    """An ask, and the rows that it was made from. Its rotation 0 is the one of the class with which it begins."""

    ask: Ask
    crowd: Crowd
    stands: tuple[Stand, ...]


def class_ask(
    session: TrainingSession,
    shape: Shape,
    words: Words,
    now: datetime,
    *,
    first: int = 0,
    whole: WholePlan | None = None,
    keep: bool = True,
) -> Asked:
    """Return what is asked of a plan from rotation `first` on, with a number of queries that does not grow.

    Of the plans that were made (`whole`) the rotations before are over: what people had counts, and bars stand where
    they were left. With `keep` people stay where the last plan has them, as far as nothing speaks against it.
    """
    crowd = crowd_of(book_of(session.gym), session, now)
    stands = stands_of(session.gym, now, _left(whole, first))
    people = [_after(somebody, whole, first) for somebody in crowd.people]
    limits = Limits(shape.rotations - first, shape.coaches, shape.judges, shape.most_resets)
    bare = ask_of(people, stands, limits)
    ask = _with_words(bare, words, first)
    if keep and whole:
        ask = replace(ask, before=_before(ask, whole, first))
    return Asked(ask, crowd, tuple(stands))


# ---- What is over ---------------------------------------------------------------------------------------------------


def _left(whole: WholePlan | None, first: int) -> Left | None:
    if whole is None or not first:
        return None
    kept = whole.of(first - 1)
    holes = {key: hole for key in kept.ask.station if (hole := whole.hole(first - 1, key)) is not None}
    return Left(kept.row.recorded_at, holes)


def _after(somebody: Somebody, whole: WholePlan | None, first: int) -> Somebody:
    """Return somebody with what they had in the rotations that are over."""
    if whole is None or not first:
        return somebody
    had: Counter[tuple[str, Role]] = Counter()
    idled = 0
    for rotation in range(min(first, whole.rotations)):
        seat = next((seat for seat in whole.seats(rotation) if seat.person == somebody.key), None)
        if seat:
            choice = whole.of(rotation).ask.choice(seat)
            had[choice.step, choice.role] += 1
        else:
            idled += somebody.key in whole.idle(rotation)
    times = tuple((step, role, count) for (step, role), count in sorted(had.items()))
    return replace(somebody, had=times, idled=idled)


# ---- What was said and planned before -------------------------------------------------------------------------------


def _with_words(ask: Ask, words: Words, first: int) -> Ask:
    """Return the ask with those of the coach's words that still have a meaning, of who is here and what is left."""
    pins = tuple(replace(pin, rotation=pin.rotation - first) for pin in words.pins)
    return replace(
        ask,
        pins=tuple(
            pin
            for pin in pins
            if pin.person in ask.person and pin.station in ask.station and 0 <= pin.rotation < ask.rotations
        ),
        apart=tuple(pair for pair in words.apart if {pair.one, pair.other} <= ask.person.keys()),
    )


def words_of(whole: WholePlan) -> Words:
    """Return what a coach had said when the last plan was made, in rotations of the class."""
    last = whole.last
    pins = tuple(replace(pin, rotation=pin.rotation + last.first) for pin in last.ask.pins)
    return Words(pins, last.ask.apart)


def _before(ask: Ask, whole: WholePlan, first: int) -> tuple[Seat, ...]:
    seats = (
        _moved(ask.person, whole, seat, first)
        for rotation in range(first, min(whole.rotations, first + ask.rotations))
        for seat in whole.seats(rotation)
    )
    return tuple(sorted(seat for seat in seats if seat))


def _moved(people: Mapping[str, Person], whole: WholePlan, seat: Seat, first: int) -> Seat | None:
    """Return a seat of the last plan in terms of the new ask; None where it is nobody's any more."""
    was = whole.of(seat.rotation).ask.choice(seat)
    choices = people[seat.person].choices if seat.person in people else ()
    now = next((at for at, choice in enumerate(choices) if (choice.step, choice.role) == (was.step, was.role)), None)
    return None if now is None else replace(seat, rotation=seat.rotation - first, choice=now)
