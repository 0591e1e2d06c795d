"""A class run by its plan, in words: for the desk, for the wall that everybody reads, and for a sheet of paper."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from athletes.models import Athlete
from athletes.queries.consents import Shown, shown_athletes
from skills.core.days import moment_us
from skills.core.rotation.asks import Post
from skills.models import TrainingSession
from skills.queries.boards import attendances_of
from skills.queries.books import Book
from skills.queries.class_runs import ClassRun, Doing, Reset
from skills.queries.stops import stops_of
from skills.queries.timelines import kept_timelines
from skills.showing.class_plans import step_words
from skills.showing.plan_words import listed

ASK: Final = "Ask the coach first"
_NO_STEP: Final = ""


def phase_words(run: ClassRun) -> str:
    """Return 'Warm-up', 'Rotation 2 of 4' or 'The last rotation is over'."""
    if run.clock.is_warm_up:
        return "Warm-up"
    if run.clock.is_over:
        return "The last rotation is over"
    return f"Rotation {run.clock.rotation + 1} of {run.lengths.rotations}"


def next_words(run: ClassRun) -> str:
    """Return what comes at the next change: 'rotation 3' or 'the end'; '' after it."""
    if run.clock.next is None:
        return ""
    rotation = run.clock.next.rotation
    return "the end" if rotation == run.lengths.rotations else f"rotation {rotation + 1}"


def reset_words(reset: Reset, minutes: int) -> str:
    """Return 'Re-set low bar from hole 5 to hole 7 (about 3 minutes), then look it over'."""
    verb, start = ("Set", "") if reset.before is None else ("Re-set", f" from hole {reset.before}")
    takes = f" (about {minutes} minute{'' if minutes == 1 else 's'})" if minutes else ""
    return f"{verb} {reset.place.name}{start} to hole {reset.hole}{takes}, then look it over"


@dataclass(frozen=True, slots=True)
class Button:
    """A tap that begins a rotation now, numbered from 0."""

    rotation: int
    words: str


@dataclass(frozen=True, slots=True)
class Strip:
    """Where a class is, above its board: what it is, until when, what has to be set, and what may be tapped."""

    rotation: int
    phase: str
    until: datetime | None
    then: str
    resets: tuple[str, ...]
    resets_ahead: tuple[str, ...]
    forward: Button | None
    back: Button | None
    newcomers: int
    plan: int

    @property
    def key(self) -> str:
        """What is another one whenever the strip, or the tiles below it, say something else."""
        until = int(self.until.timestamp()) if self.until else 0
        return f"{self.plan}-{self.rotation}-{until}-{self.newcomers}"


def strip_of(run: ClassRun, present: Collection[UUID]) -> Strip:
    """Return the strip; of those present who are not in the plan only their number."""
    clock, minutes = run.clock, run.whole.last.row.reset_minutes
    ahead = clock.next.rotation if clock.next else None
    return Strip(
        rotation=clock.rotation,
        phase=phase_words(run),
        until=clock.next.at if clock.next else None,
        then=next_words(run),
        resets=tuple(reset_words(each, minutes) for each in run.resets(clock.running)),
        resets_ahead=tuple(reset_words(each, minutes) for each in run.resets(ahead)),
        forward=_forward(run),
        back=_back(run),
        newcomers=sum(str(key) not in run.people for key in present),
        plan=run.whole.last.row.number,
    )


def _forward(run: ClassRun) -> Button | None:
    rotation = run.clock.rotation + 1
    if run.clock.is_over:
        return None
    if run.clock.is_warm_up:
        return Button(0, "Start rotation 1 now")
    last = rotation == run.lengths.rotations
    return Button(rotation, "End the last rotation" if last else f"On to rotation {rotation + 1}")


def _back(run: ClassRun) -> Button | None:
    if run.clock.is_warm_up:
        return None
    rotation = run.clock.rotation - 1
    return (
        Button(rotation, f"Back to rotation {rotation + 1}")
        if rotation >= 0
        else Button(0, "Rotation 1 from its start")
    )


# ---- The wall -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WallPerson:
    """Somebody by number and as much of the name as was agreed to, and where they go next; '' for nowhere."""

    number: int
    name: str
    then: str


@dataclass(frozen=True, slots=True)
class WallGroup:
    """Who does the same at a station. The step is '' for who has no place."""

    step: str
    people: tuple[WallPerson, ...]


@dataclass(frozen=True, slots=True)
class WallStation:
    """A station with those who work there now; `stands` is the hole of its bar in words, `led` where coaches are."""

    name: str
    stands: str
    led: str
    groups: tuple[WallGroup, ...]


@dataclass(frozen=True, slots=True)
class Wall:
    """What everybody in the hall reads. Nothing of it says why somebody should ask a coach first.

    `resets` are made at the beginning of the rotation, until `reset_until`.
    """

    phase: str
    until: datetime | None
    then: str
    resets: tuple[str, ...]
    reset_until: datetime | None
    resets_ahead: tuple[str, ...]
    stations: tuple[WallStation, ...]


@dataclass(frozen=True, slots=True)
class WallTurn:
    """The wall from a moment on, None from now: the turns that lie ahead, for a screen that loses its network."""

    begins: datetime | None
    wall: Wall


def walls_of(book: Book, session: TrainingSession, run: ClassRun, now: datetime) -> list[WallTurn]:
    """Return the wall as it is now, and as it will be at each turn: those present, by consent.

    Before the first rotation it shows who goes where then. Who is not in the plan, or has left, has no place on it.
    The number of queries does not grow with people and rotations.
    """
    people = People.of(book, session, now)
    ahead = [
        WallTurn(clock.since, _wall(book, replace(run, clock=clock), people))
        for clock in (run.clock.turned(turn) for turn in run.clock.turns if turn.at > now)
    ]
    return [WallTurn(None, _wall(book, run, people)), *ahead]


def _wall(book: Book, run: ClassRun, people: People) -> Wall:
    clock, minutes = run.clock, run.whole.last.row.reset_minutes
    ahead = clock.next.rotation if clock.next else None
    return Wall(
        phase=phase_words(run),
        until=clock.next.at if clock.next else None,
        then=next_words(run),
        resets=tuple(reset_words(each, minutes) for each in run.resets(clock.running)),
        reset_until=clock.since + timedelta(minutes=minutes) if clock.since else None,
        resets_ahead=tuple(reset_words(each, minutes) for each in run.resets(ahead)),
        stations=tuple(_stations(book, run, run.shown, people)) if run.shown is not None else (),
    )


@dataclass(frozen=True, slots=True)
class People:
    """Those present by key, as everybody may read them, and at which steps each has to ask a coach first."""

    shown: Mapping[str, Shown]
    barred: Mapping[str, Collection[str]]

    @classmethod
    def of(cls, book: Book, session: TrainingSession, now: datetime) -> People:
        """Read them."""
        athletes = [row.athlete for row in attendances_of(session)]
        shown = {str(who.id): who for who in shown_athletes(athletes, now)}
        return cls(shown, _barred(book, athletes, now))

    def must_ask(self, key: str, step: str) -> bool:
        """Whether a caution or a consent that is lacking has come between somebody and a step since it was planned."""
        return step in self.barred.get(key, ())


def _barred(book: Book, athletes: list[Athlete], now: datetime) -> Mapping[str, Collection[str]]:
    kept = kept_timelines(book, [athlete.id for athlete in athletes])
    stops, us = stops_of(book, athletes, kept, now), moment_us(now)
    return {
        str(key): {code for code in book.steps if timelines[code].at(us).state == "paused"} | {*stops[key].codes}
        for key, timelines in kept.items()
    }


def _stations(book: Book, run: ClassRun, rotation: int, people: People) -> Iterator[WallStation]:
    doings, then = run.doings(rotation), run.doings(rotation + 1)
    is_last = rotation + 1 == run.lengths.rotations
    here = {key: doing for key, doing in doings.items() if key in people.shown}
    for key, place in run.places.items():
        there = {who: doing for who, doing in here.items() if str(doing.place.id) == key}
        if there:
            hole = run.whole.hole(rotation, key)
            posts = [post for post in run.whole.posts(rotation) if post.station == key]
            groups = _groups(book, there, then, people, is_last=is_last)
            stands = "" if hole is None else f"hole {hole}"
            yield WallStation(place.name, stands, led_words(posts), tuple(groups))
    idle = [key for key in people.shown if key in run.people and key not in here]
    if idle:
        yield WallStation("Rest", "", "", (WallGroup(_NO_STEP, _rows(idle, then, people, is_last=is_last)),))
    late = [key for key in people.shown if key not in run.people]
    if late:
        rows = _rows(late, then, people, is_last=True)  # nowhere is theirs next either
        yield WallStation("Not in the plan yet: ask the coach", "", "", (WallGroup(_NO_STEP, rows),))


def led_words(posts: Collection[Post]) -> str:
    """Return 'a coach spots', or '' where no coach has a post."""
    verbs = {"spots": ("spots", "spot"), "watches": ("looks on", "look on")}
    told = [
        f"{'a coach' if post.coaches == 1 else f'{post.coaches} coaches'} {verbs[post.task][post.coaches > 1]}"
        for post in posts
    ]
    return listed(told) if told else ""


def _groups(
    book: Book, there: Mapping[str, Doing], then: Mapping[str, Doing], people: People, *, is_last: bool
) -> Iterator[WallGroup]:
    steps: dict[str, list[str]] = {}
    for key in people.shown:
        if key in there:
            code = there[key].step
            words = ASK if people.must_ask(key, code) else step_words(book, code)
            steps.setdefault(words, []).append(key)
    for step, keys in steps.items():
        yield WallGroup(step, _rows(keys, then, people, is_last=is_last))


def _rows(keys: list[str], then: Mapping[str, Doing], people: People, *, is_last: bool) -> tuple[WallPerson, ...]:
    return tuple(
        WallPerson(people.shown[key].number, people.shown[key].name, "" if is_last else _then(then.get(key)))
        for key in keys
    )


def _then(doing: Doing | None) -> str:
    return doing.place.name if doing else "rest"
