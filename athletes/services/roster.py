"""The roster: who practises in a gym."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.core.roster import PersonKey, RosterEntry, name_problem, tidy_name
from athletes.models import Athlete, Gym, Membership, Person
from athletes.services.audit import record_act
from athletes.services.erasure import AlreadyErased
from athletes.services.measures import differs_from_last, note_measures


class AlreadyOnRoster(Refusal):
    """Somebody of that name and birth date practises here already."""

    field = "full_name"


class LeftBeforeJoining(Refusal):
    """Nobody leaves before they joined."""

    field = "left_on"


class BadName(Refusal):
    """The name is missing, too long or cannot be printed."""

    field = "name"


@transaction.atomic
def enrol_athlete(*, by: Membership, entry: RosterEntry) -> Athlete:
    """Put one person on the roster under the next free number. Raises AlreadyOnRoster."""
    gym = locked_gym(by.gym)
    if known := _known(gym).get(entry.key):
        raise AlreadyOnRoster(f"Somebody of this name and birth date is number {known.number} already.")
    (athlete,) = add_people(gym, [entry])
    note_measures(gym, [(athlete, entry)])
    record_act(gym=gym, actor=by, act="athlete_enrolled", about=athlete.id, content={"number": athlete.number})
    return athlete


@transaction.atomic
def enrol_guest(*, by: Membership, guest_id: UUID, name: str, is_minor: bool, happened_at: datetime) -> Athlete:
    """Put somebody who came by for a class on the roster, with what a coach was told, under the id of the device.

    Nobody knows the birth date, so pages show initials until it is entered. Raises BadName.
    """
    name = tidy_name(name)
    if problem := name_problem(name):
        raise BadName(problem)
    gym = locked_gym(by.gym)
    told = "under age" if is_minor else "of age"
    person = Person.objects.create(gym=gym, full_name=name, notes=f"Came as a guest; {told} as a coach was told.")
    joined_on = happened_at.astimezone(gym.zone).date()
    number = _last_number(gym) + 1
    athlete = Athlete.objects.create(
        id=guest_id, gym=gym, person=person, number=number, joined_on=joined_on, guest=True
    )
    record_act(gym=gym, actor=by, act="guest_enrolled", about=athlete.id, content={"number": athlete.number})
    return athlete


@transaction.atomic
def change_athlete(*, by: Membership, athlete: Athlete, entry: RosterEntry, left_on: date | None = None) -> Athlete:
    """Change who an athlete is, when they left, and add a measure where stature or mass are new.

    Raises AlreadyOnRoster where that would make two of the same, LeftBeforeJoining, AlreadyErased.
    """
    gym = locked_gym(by.gym)
    athlete.person.refresh_from_db()  # whoever was erased since the page was opened gets no name again
    if athlete.person.erased_at:
        raise AlreadyErased("What was kept about this person has been erased meanwhile.")
    known = _known(gym).get(entry.key)
    if known and known.pk != athlete.pk:
        raise AlreadyOnRoster(f"Somebody of this name and birth date is number {known.number} already.")
    if left_on and left_on < athlete.joined_on:
        raise LeftBeforeJoining(f"They joined on {athlete.joined_on} only.")
    changed = change_person(athlete.person, entry)
    if left_on != athlete.left_on:
        athlete.left_on = left_on
        athlete.save(update_fields=["left_on"])
        changed.append("left_on")
    if differs_from_last(athlete, entry) and note_measures(gym, [(athlete, entry)]):
        changed.append("measures")
    if changed:
        content = {"changed": sorted(changed)}
        record_act(gym=gym, actor=by, act="athlete_changed", about=athlete.id, content=content)
    return athlete


def locked_gym(gym: Gym) -> Gym:
    """Have one enrolment of a gym wait for the other, and nothing else wait for either; part of a transaction."""
    return Gym.objects.select_for_update(no_key=True).get(pk=gym.pk)


def _known(gym: Gym) -> dict[PersonKey, Athlete]:
    found = Athlete.objects.filter(gym=gym, person__erased_at=None).select_related("person")
    return {RosterEntry(a.person.full_name, a.person.birth_on).key: a for a in found}


def add_people(gym: Gym, entries: Sequence[RosterEntry]) -> list[Athlete]:
    """Put these people on the roster under the next free numbers, in their order; part of a transaction that locks."""
    people = Person.objects.bulk_create([Person(gym=gym, **_details(entry)) for entry in entries])
    today = _today(gym)
    return Athlete.objects.bulk_create(
        [
            Athlete(gym=gym, person=person, number=number, joined_on=today)
            for number, person in enumerate(people, start=_last_number(gym) + 1)
        ]
    )


def _last_number(gym: Gym) -> int:
    last: int | None = Athlete.objects.filter(gym=gym).aggregate(last=Max("number"))["last"]
    return last or 0


def _details(entry: RosterEntry) -> dict[str, str | date | None]:
    return {
        "full_name": tidy_name(entry.full_name),
        "birth_on": entry.birth_on,
        "email": entry.email.strip().lower(),
        "notes": entry.notes.strip(),
    }


def change_person(person: Person, entry: RosterEntry) -> list[str]:
    """Give a person an entry's name, birth date, address and notes; return which of these are another than before."""
    details = _details(entry)
    changed = [name for name, value in details.items() if getattr(person, name) != value]
    for name in changed:
        setattr(person, name, details[name])
    if changed:
        person.save(update_fields=changed)
    return changed


def _today(gym: Gym) -> date:
    return timezone.now().astimezone(gym.zone).date()
