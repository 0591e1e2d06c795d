"""The gym's stations: adding one, changing it, taking it out of use."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Gym, Membership
from athletes.services.audit import record_act
from athletes.services.names_kept_out import NO_NAME, is_named_in
from athletes.services.roster import locked_gym
from gymtrack.lib.ids import new_id
from skills.models import Bar, ServedStep, Step, WorkPlace

NAME_LENGTH = 60
SPOT_LENGTH = 120
MOST_PEOPLE = 60
_BAR_KINDS = frozenset({Step.Station.HIGH_BAR, Step.Station.LOW_BAR})


@dataclass(frozen=True, slots=True)
class PlaceEntry:
    """A station as it is written down; `steps` are the only ones that it serves, none for all of its kind."""

    name: str
    kind: str
    capacity: int
    bar: Bar | None = None
    spot_from: str = ""
    steps: Sequence[Step] = ()


@dataclass(frozen=True, slots=True)
class PlaceProblem:
    """What is wrong with a field."""

    field: str
    sentence: str


class PlaceRefusedError(ValueError):
    """The entry cannot be stored; `problems` names each field with its sentence."""

    def __init__(self, *problems: PlaceProblem) -> None:
        super().__init__(" ".join(problem.sentence for problem in problems))
        self.problems = problems


class PlaceRetiredError(ValueError):
    """The station was taken out of use."""

    def __init__(self) -> None:
        super().__init__("This station was taken out of use.")


def add_work_place(*, by: Membership, entry: PlaceEntry, place_id: UUID | None = None) -> WorkPlace:
    """Add a station behind those there are; the same id twice is one. Raises PlaceRefusedError with every mistake."""
    _refuse(_problems(entry))
    key = place_id or new_id()
    if before := WorkPlace.objects.filter(gym=by.gym_id, pk=key).first():
        return before
    with transaction.atomic():
        gym = locked_gym(by.gym)
        _refuse(_problems_in(gym, entry, key))
        position = WorkPlace.objects.filter(gym=gym).count()
        place = WorkPlace.objects.create(id=key, gym=gym, position=position, **_columns(entry))
        _serve(place, entry.steps)
        record_act(gym=by.gym, actor=by, act="work_place_added", about=place.id, content=_content(entry))
    return place


def change_work_place(*, by: Membership, place: WorkPlace, entry: PlaceEntry) -> WorkPlace:
    """Write down a station anew; plans that were made stay as they are.

    Raises PlaceRefusedError, PlaceRetiredError.
    """
    _refuse(_problems(entry))
    with transaction.atomic():
        _refuse(_problems_in(locked_gym(by.gym), entry, place.id))
        if not WorkPlace.objects.filter(pk=place.pk, retired_at=None).update(**_columns(entry)):
            raise PlaceRetiredError
        ServedStep.objects.filter(gym=place.gym_id, place=place).delete()
        _serve(place, entry.steps)
        record_act(gym=by.gym, actor=by, act="work_place_changed", about=place.id, content=_content(entry))
    place.refresh_from_db()
    return place


def retire_work_place(*, by: Membership, place: WorkPlace) -> None:
    """Take a station out of use; plans that were made stay. The second time changes nothing."""
    with transaction.atomic():
        if WorkPlace.objects.filter(pk=place.pk, retired_at=None).update(retired_at=timezone.now()):
            record_act(gym=by.gym, actor=by, act="work_place_retired", about=place.id, content={})


def _columns(entry: PlaceEntry) -> dict[str, object]:
    return {
        "name": entry.name,
        "kind": entry.kind,
        "capacity": entry.capacity,
        "bar": entry.bar,
        "spot_from": entry.spot_from,
    }


def _serve(place: WorkPlace, steps: Sequence[Step]) -> None:
    ServedStep.objects.bulk_create(ServedStep(gym_id=place.gym_id, place=place, step=step) for step in steps)


def _refuse(problems: Iterator[PlaceProblem]) -> None:
    if found := [*problems]:
        raise PlaceRefusedError(*found)


def _problems(entry: PlaceEntry) -> Iterator[PlaceProblem]:
    if not entry.name or len(entry.name) > NAME_LENGTH:
        words = f"Name the station, as it is called in your gym, in at most {NAME_LENGTH} characters."
        yield PlaceProblem("name", words)
    if not 1 <= entry.capacity <= MOST_PEOPLE:
        yield PlaceProblem("capacity", f"Say how many can work there at a time, 1 to {MOST_PEOPLE}.")
    if len(entry.spot_from) > SPOT_LENGTH:
        yield PlaceProblem("spot_from", f"Say where a spotter stands in at most {SPOT_LENGTH} characters.")
    if entry.bar and entry.kind not in _BAR_KINDS:
        yield PlaceProblem("bar", "Only a high bar and a low bar have a bar of the list: leave it empty.")
    if any(step.station != entry.kind for step in entry.steps):
        yield PlaceProblem("steps", "A station serves only steps that are done at its kind of station.")


def _problems_in(gym: Gym, entry: PlaceEntry, key: UUID) -> Iterator[PlaceProblem]:
    """Part of the caller's transaction, which holds the gym: one gym has no two stations in use by one name."""
    others = WorkPlace.objects.filter(gym=gym, retired_at=None).exclude(pk=key)
    if others.filter(name__iexact=entry.name).exists():
        yield PlaceProblem("name", "Another station in use has this name.")
    if is_named_in([entry.name], gym_id=gym.id):
        yield PlaceProblem("name", NO_NAME)
    if is_named_in([entry.spot_from], gym_id=gym.id):
        yield PlaceProblem("spot_from", NO_NAME)
    if entry.bar and entry.bar.retired_at:
        yield PlaceProblem("bar", "This bar was taken out of use.")
    elif entry.bar and others.filter(bar=entry.bar).exists():
        yield PlaceProblem("bar", "Another station has this bar.")


def _content(entry: PlaceEntry) -> dict[str, object]:
    """Return what the audit chain keeps: no words of anybody's."""
    return {
        "kind": entry.kind,
        "capacity": entry.capacity,
        "bar": entry.bar.id if entry.bar else None,
        "steps": [step.code for step in entry.steps],
    }
