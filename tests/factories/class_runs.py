"""A plan that is kept as it is said, without solving anything: who is where in each rotation."""

from collections.abc import Mapping, Sequence

from django.utils import timezone

from athletes.models import Athlete, Membership
from skills.core.rotation.asks import Ask, Choice, Person, Place, Plan, Post, Seat, Station
from skills.core.rotation.written import written_ask, written_plan
from skills.models import ClassPlan, TrainingSession, WorkPlace

Told = tuple[str, str, int | None]  # step, key of the station in the hall, hole
Turns = Mapping[Athlete, Sequence[Told | None]]  # by rotation, None while idle


def keep_plan(
    by: Membership,
    session: TrainingSession,
    told: Turns,
    hall: Mapping[str, WorkPlace],
    *,
    posts: Sequence[Post] = (),
    minutes: int = 10,
    warm_up: int = 5,
    first_rotation: int = 0,
) -> ClassPlan:
    """Keep a plan from `first_rotation` on; None where somebody is idle."""
    people, seats = [], []
    for athlete, turns in told.items():
        choices = list(dict.fromkeys(turn for turn in turns if turn))
        people.append(Person(str(athlete.id), tuple(_choice(turn, hall) for turn in choices)))
        seats += [
            Seat(rotation, str(athlete.id), choices.index(turn), str(hall[turn[1]].id), turn[2])
            for rotation, turn in enumerate(turns)
            if turn
        ]
    stations = tuple(Station(str(place.id), place.capacity, place.kind == "low_bar") for place in hall.values())
    rotations = max(len(turns) for turns in told.values())
    ask = Ask(tuple(people), stations, rotations)
    holes = {(seat.rotation, seat.station): seat.hole for seat in seats if seat.hole is not None}
    plan = Plan(tuple(sorted(seats)), _kept(holes, ask), tuple(posts), worth=1, bound=1, proof="optimal")
    return ClassPlan.objects.create(
        gym=session.gym,
        session=session,
        number=ClassPlan.objects.filter(session=session).count() + 1,
        first_rotation=first_rotation,
        rotations=first_rotation + rotations,
        rotation_minutes=minutes,
        warm_up_minutes=warm_up,
        asked=written_ask(ask),
        planned=written_plan(plan),
        made_by=by,
        happened_at=timezone.now(),
    )


def _choice(turn: Told, hall: Mapping[str, WorkPlace]) -> Choice:
    step, place, hole = turn
    return Choice(step, "in_hand", (Place(str(hall[place].id), hole),))


def _kept(holes: Mapping[tuple[int, str], int], ask: Ask) -> dict[tuple[int, str], int]:
    """A bar stays in its hole until it is set into another."""
    kept: dict[tuple[int, str], int] = {}
    for station in ask.stations:
        last = None
        for rotation in range(ask.rotations):
            last = holes.get((rotation, station.key), last)
            if last is not None:
                kept[rotation, station.key] = last
    return kept
