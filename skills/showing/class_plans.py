"""A class plan as a page shows it: rotation by rotation who is where, at what, how bars stand, where coaches are."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from unicodedata import bidirectional
from uuid import UUID

from athletes.models import Athlete, Gym
from athletes.queries.consents import Shown, shown_athletes
from skills.core.portions import Portion
from skills.core.rotation.asks import Choice, Post, Seat, Station
from skills.core.rotation.bottlenecks import bottlenecks_of, nowhere
from skills.dose_words import portion_today
from skills.models import TrainingSession, WorkPlace
from skills.queries.bars import checks_on_day, place_of, standing_checks
from skills.queries.books import Book, StepPage
from skills.queries.class_doses import class_doses
from skills.queries.class_runs import ClassRun
from skills.queries.kept_plans import WholePlan
from skills.showing.bars import check_words
from skills.showing.lengths import Lengths
from skills.showing.plan_words import ROLES, bottleneck_words, counted, listed, worth_words


@dataclass(frozen=True, slots=True)
class PlacedPerson:
    """Somebody in a rotation: what they do, and how it is led. `step` is "" for who has no place."""

    id: UUID
    number: int
    label: str
    step: str = ""
    role: str = ""
    dose: str = ""
    spotted: str = ""
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class SetBar:
    """A bar that is set before a rotation; `checked` says how it was looked over, "" while the check is asked for."""

    bar_id: UUID
    hole: int
    words: str
    checked: str


@dataclass(frozen=True, slots=True)
class ShownStation:
    """A station in a rotation. `stands` is how its bar stands, `led` who is there of the coaches and where."""

    id: str
    name: str
    stands: str
    led: tuple[str, ...]
    people: tuple[PlacedPerson, ...]
    free: int


@dataclass(frozen=True, slots=True)
class ShownRotation:
    """One rotation; `number` counts from 1, as people do, and `at` from 0. `empty` names stations without anybody.

    `begins` is when it began or will begin, None for one that is over; `now` whether it runs.
    """

    at: int
    number: int
    begins: datetime | None
    now: bool
    sets: tuple[SetBar, ...]
    stations: tuple[ShownStation, ...]
    idle: tuple[PlacedPerson, ...]
    empty: str


@dataclass(frozen=True, slots=True)
class ShownPlan:
    """A whole plan. `worth` says how much better one could be, `reached` who gets to the step in hand."""

    number: int
    made: str
    rotations: tuple[ShownRotation, ...]
    worth: str
    reached: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Names:
    """What people and stations of a plan are called, by key; people as everybody may read them."""

    people: Mapping[str, Shown]
    places: Mapping[str, WorkPlace]

    @property
    def labels(self) -> Mapping[str, str]:
        """People as number and name, each kept together within a sentence whichever way it is written."""
        return {key: _held_together(who.label) for key, who in self.people.items()}

    @property
    def stations(self) -> Mapping[str, str]:
        """Stations by their names."""
        return {key: place.name for key, place in self.places.items()}


def names_in(whole: WholePlan | None, gym: Gym, now: datetime, more: Collection[Athlete] = ()) -> Names:
    """Return the names of everybody and everything in the plans of a class, and of these athletes; three queries."""
    asks = [kept.ask for kept in whole.plans] if whole else []
    keys = {person.key for ask in asks for person in ask.people} - {str(athlete.id) for athlete in more}
    rows = Athlete.objects.filter(gym=gym, pk__in=keys).select_related("person", "gym")
    athletes = sorted([*rows, *more], key=lambda athlete: athlete.number)
    stations = {station.key for ask in asks for station in ask.stations}
    places = WorkPlace.objects.filter(gym=gym).select_related("bar")
    return Names(
        {str(who.id): who for who in shown_athletes(athletes, now)},
        {str(place.id): place for place in places if str(place.id) in stations or place.retired_at is None},
    )


def shown_plan(book: Book, session: TrainingSession, run: ClassRun, names: Names, now: datetime) -> ShownPlan:
    """Return the plan that stands, told, with where in it the class is; a number of queries that does not grow."""
    telling = _Telling(book, session, run, names, now)
    whole, last = run.whole, run.whole.last
    return ShownPlan(
        number=last.row.number,
        made=f"{last.row.recorded_at.astimezone(session.gym.zone):%H:%M}, {last.row.made_by.person.full_name}",
        rotations=tuple(telling.rotation(at) for at in range(whole.rotations)),
        worth=worth_words(last.plan),
        reached=tuple(telling.reached()),
    )


class _Telling:
    """What telling a plan needs, read once."""

    def __init__(self, book: Book, session: TrainingSession, run: ClassRun, names: Names, now: datetime) -> None:
        self.book, self.session, self.whole, self.names = book, session, run.whole, names
        self.clock, self.begins = run.clock, {turn.rotation: turn.at for turn in run.clock.turns}
        self.lengths = Lengths(session.gym.units)
        self.checks = {check.of_id: check for check in standing_checks(checks_on_day(session.gym, now))}
        self.doses = self._read_doses(now)
        self.fixed = {
            (at, pin.person)
            for at in range(self.whole.rotations)
            for pin in self.whole.of(at).ask.pins
            if pin.rotation + self.whole.of(at).first == at
        }

    def _read_doses(self, now: datetime) -> Mapping[tuple[UUID, str], Portion | None]:
        seats = [seat for at in range(self.whole.rotations) for seat in self.whole.seats(at)]
        codes = {self.whole.of(seat.rotation).ask.choice(seat).step for seat in seats}
        people = Athlete.objects.filter(gym=self.session.gym_id, pk__in={seat.person for seat in seats})
        return class_doses(self.book, self.session, list(people.select_related("person", "gym")), codes, now)

    def rotation(self, at: int) -> ShownRotation:
        stations = [self._station(at, station) for station in self.whole.of(at).ask.stations]
        empty = [station.name for station in stations if not station.people]
        return ShownRotation(
            at=at,
            number=at + 1,
            begins=None if self.clock.rotation > at else self.begins.get(at),
            now=self.clock.running == at,
            sets=tuple(self._sets(at)),
            stations=tuple(stations),
            idle=tuple(self._idle(key) for key in self.whole.idle(at)),
            empty=listed(empty) if empty else "",
        )

    # ---- Bars

    def _sets(self, at: int) -> Iterator[SetBar]:
        for station in self.whole.of(at).ask.stations:
            hole, before = self.whole.hole(at, station.key), self.whole.hole_before(at, station.key)
            place = self.names.places.get(station.key)
            used = any(seat.station == station.key for seat in self.whole.seats(at))
            if hole is None or place is None or place.bar is None or hole == before or not used:
                continue
            check = self.checks.get(place.bar.id)
            stands = check is not None and check.hole == hole
            verb = "Set" if before is None else "Re-set"
            yield SetBar(
                place.bar.id,
                hole,
                f"{verb} {place.bar.name} to {self._stands(place, hole)}",
                check_words(check, self.session.gym.zone) if check and stands else "",
            )

    def _stands(self, place: WorkPlace, hole: int | None) -> str:
        if place.bar is None:
            return ""
        settings = place_of(place.bar).settings
        setting = next((each for each in settings if each.hole == hole), None)
        if setting is None:
            return ""
        height = self.lengths.exact(setting.top_mm)
        return f"hole {setting.hole}, {height}" if setting.hole else height

    # ---- Stations and people

    def _station(self, at: int, station: Station) -> ShownStation:
        key, place = station.key, self.names.places.get(station.key)
        seats = [seat for seat in self.whole.seats(at) if seat.station == key]
        posts = [post for post in self.whole.posts(at) if post.station == key]
        hands = sum(self.whole.of(at).ask.choice(seat).spotters for seat in seats)
        return ShownStation(
            id=key,
            name=place.name if place else "a station that is gone",
            stands=self._stands(place, self.whole.hole(at, key)) if place else "",
            led=tuple(_led(post, place, hands=hands) for post in posts),
            people=tuple(self._placed(seat) for seat in sorted(seats, key=lambda seat: self._number(seat.person))),
            free=station.capacity - len(seats),
        )

    def _number(self, key: str) -> int:
        return self.names.people[key].number if key in self.names.people else 0

    def _placed(self, seat: Seat) -> PlacedPerson:
        who, choice = self.names.people[seat.person], self.whole.of(seat.rotation).ask.choice(seat)
        portion = self.doses.get((who.id, choice.step))
        return PlacedPerson(
            id=who.id,
            number=who.number,
            label=who.label,
            step=step_words(self.book, choice.step),
            role=ROLES[choice.role],
            dose=portion_today(portion) if portion and choice.role != "test" else "",
            spotted=_spotted(choice),
            fixed=(seat.rotation, seat.person) in self.fixed,
        )

    def _idle(self, key: str) -> PlacedPerson:
        who = self.names.people[key]
        return PlacedPerson(id=who.id, number=who.number, label=who.label)

    # ---- Who gets to what

    def reached(self) -> Iterator[str]:
        ask, plan = self.whole.last.ask, self.whole.last.plan
        labels, stations = self.names.labels, self.names.stations
        necks, missing = bottlenecks_of(ask, plan), nowhere(ask)
        if not necks and not missing:
            yield "Everybody gets to the step in hand."
        for neck in necks:
            yield bottleneck_words(neck, stations, labels)
        for key, code in missing:
            yield f"{labels[key]} has {step_words(self.book, code)} in hand, and there is no place for it here."
        idle = [key for at in range(self.whole.last.first, self.whole.rotations) for key in self.whole.idle(at)]
        if idle:
            who = listed([labels[key] for key in dict.fromkeys(idle)])
            yield f"Without a place in {counted(len(idle), 'turn')} altogether: {who}."


def _held_together(label: str) -> str:
    """Return a name that is written from right to left isolated from what stands around it (UAX #9, FSI and PDI)."""
    turned = any(bidirectional(sign) in {"R", "AL"} for sign in label)
    return f"\u2068{label}\u2069" if turned else label


def step_words(book: Book, code: str) -> str:
    """Return a step as '3a Tucked inverted hang'; its code where the book has it no longer."""
    page: StepPage | None = book.steps.get(code)
    return f"{page.label} {page.name}" if page else code


def _spotted(choice: Choice) -> str:
    if not choice.spotters:
        return ""
    return "spotted" if choice.spotters == 1 else f"first try: {choice.spotters} spot"


def _led(post: Post, place: WorkPlace | None, *, hands: int) -> str:
    """Say what coaches do at a station; `hands` is how many of theirs the people there take."""
    who, one = ("A coach", True) if post.coaches == 1 else (f"{post.coaches} coaches", False)
    if post.task == "watches":
        return f"{who} {'looks' if one else 'look'} on"
    if not hands:
        return f"{who} {'stands' if one else 'stand'} there"
    where = f", {place.spot_from}" if place and place.spot_from else ""
    return f"{who} {'spots' if one else 'spot'}{where}"
