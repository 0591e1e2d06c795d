"""Requests for erasure, whom an owner may erase, and what had been said of requests before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q, QuerySet

from athletes.core.roster import person_key
from athletes.models import Athlete, ErasureRequest, Guardianship, Gym, Membership, Person, Remark

MOST_FOUND = 30


@dataclass(frozen=True, slots=True)
class Known:
    """Somebody whom the gym knows, with what they are here: 'athlete 12', 'coach until 3 May 2026'."""

    person: Person
    roles: tuple[str, ...]


def open_requests(gym: Gym) -> list[ErasureRequest]:
    """Return the requests that wait for an answer, the oldest first."""
    return list(_with_people(ErasureRequest.objects.filter(gym=gym, answer="")).order_by("asked_at"))


def answered_requests(gym: Gym) -> list[ErasureRequest]:
    """Return the last answered requests, the newest first."""
    answered = ErasureRequest.objects.filter(gym=gym).exclude(answer="")
    return list(_with_people(answered).order_by("-answered_at")[:MOST_FOUND])


def open_request_of(person: Person) -> ErasureRequest | None:
    """Return the request that waits for an answer."""
    return _with_people(person.erasure_requests.filter(answer="")).first()


def last_refusal_of(person: Person) -> tuple[ErasureRequest, str] | None:
    """Return the last request if it was refused, with the reason."""
    last = person.erasure_requests.order_by("-asked_at").first()
    if last is None or last.answer != ErasureRequest.Answer.REFUSED:
        return None
    reason = Remark.objects.filter(gym=person.gym_id, about=last.pk).values_list("text", flat=True).first()
    return last, reason or ""


def people_called(gym: Gym, words: str) -> list[Known]:
    """Return whom the gym knows by that name, address or number, whether they have left or not; three queries."""
    wanted = person_key(words, None)[0]
    if not wanted:
        return []
    people = Person.objects.filter(gym=gym, erased_at=None).select_related("athlete").order_by("full_name", "pk")
    # In Python, because SQLite knows upper and lower case of ASCII alone.
    found = [person for person in people.iterator() if _fits(person, wanted)][:MOST_FOUND]
    roles = _roles([person.pk for person in found])
    return [Known(person, _what(person, roles)) for person in found]


def known(person: Person) -> Known:
    """Return somebody with what they are."""
    return Known(person, _what(person, _roles([person.pk])))


def person_of_id(gym: Gym, person_id: UUID) -> Person | None:
    """Return somebody whom the gym knows and who was not erased."""
    return Person.objects.filter(gym=gym, pk=person_id, erased_at=None).first()


def person_numbered(gym: Gym, number: int) -> Person | None:
    """Return the athlete of that number, as a person, if they were not erased."""
    return Person.objects.filter(gym=gym, athlete__number=number, erased_at=None).first()


def wards_of(guardian: Membership) -> list[Athlete]:
    """Return the athletes whose guardian this is."""
    links = Guardianship.objects.filter(guardian=guardian, ended_at=None, athlete__person__erased_at=None)
    return [
        link.athlete for link in links.select_related("athlete__person", "athlete__gym").order_by("athlete__number")
    ]


def _with_people(rows: QuerySet[ErasureRequest]) -> QuerySet[ErasureRequest]:
    return rows.select_related("person__athlete", "asked_by__person", "answered_by__person")


def _fits(person: Person, wanted: str) -> bool:
    athlete = _athlete_of(person)
    if wanted.isdecimal():
        return athlete is not None and athlete.number == int(wanted)
    return wanted in person_key(person.full_name, None)[0] or wanted in person.email.casefold()


def _roles(people: list[UUID]) -> Mapping[UUID, tuple[Membership, ...]]:
    found: dict[UUID, tuple[Membership, ...]] = {}
    members = Membership.objects.filter(Q(person__in=people)).exclude(role=Membership.Role.ATHLETE)
    for row in members.order_by("started_at"):
        found[row.person_id] = (*found.get(row.person_id, ()), row)
    return found


def _what(person: Person, roles: Mapping[UUID, tuple[Membership, ...]]) -> tuple[str, ...]:
    athlete = _athlete_of(person)
    words = (
        [f"athlete {athlete.number}" + (f", left on {athlete.left_on}" if athlete.left_on else "")] if athlete else []
    )
    held = roles.get(person.pk, ())
    return (*words, *(f"{row.role} until {row.ended_at:%Y-%m-%d}" if row.ended_at else str(row.role) for row in held))


def _athlete_of(person: Person) -> Athlete | None:
    found: Athlete | None = getattr(person, "athlete", None)
    return found
