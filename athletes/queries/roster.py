"""The roster as a list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from athletes.core.people import age_years
from athletes.core.roster import person_key
from athletes.models import Athlete, Guardianship, Gym, Membership
from athletes.queries.cautions import loads_forbidden


@dataclass(frozen=True, slots=True)
class RosterRow:
    """One athlete on the list; a minor's name is initials."""

    id: UUID
    number: int
    name: str
    age_years: int | None
    is_minor: bool
    has_login: bool
    forbidden: tuple[str, ...]
    left_on: date | None


def roster_rows(athletes: QuerySet[Athlete], *, now: datetime, words: str = "") -> list[RosterRow]:
    """Return the list of these athletes that fit the words (a number, or part of a name), in three queries."""
    found = [athlete for athlete in athletes if _fits(athlete, words)]
    ids = [athlete.id for athlete in found]
    current = Membership.objects.filter(athlete__in=ids, ended_at=None)
    logins = set(current.values_list("athlete", flat=True))
    forbidden = loads_forbidden(athlete_ids=ids, now=now)
    return [
        RosterRow(
            id=athlete.id,
            number=athlete.number,
            name=athlete.board_name,
            age_years=_age(athlete, now),
            is_minor=athlete.is_minor(),
            has_login=athlete.id in logins,
            forbidden=tuple(str(load.label) for load in forbidden.get(athlete.id, ())),
            left_on=athlete.left_on,
        )
        for athlete in found
    ]


def athletes_called(gym: Gym, words: str) -> list[Athlete]:
    """Return the gym's athletes with that number or name, those who left included, by number."""
    found = Athlete.objects.filter(gym=gym, person__erased_at=None).select_related("person", "gym").order_by("number")
    return [athlete for athlete in found if words.strip() and _fits(athlete, words)]


def login_of(athlete: Athlete) -> Membership | None:
    """Return the athlete's own log-in."""
    return athlete.memberships.filter(ended_at=None).select_related("account").first()


def guardians_of(athlete: Athlete) -> list[Guardianship]:
    """Return the links to guardians that have not ended."""
    links = athlete.guardianships.filter(ended_at=None, guardian__ended_at=None)
    return list(links.select_related("guardian__person", "guardian__account").order_by("id"))


def _fits(athlete: Athlete, words: str) -> bool:
    # In Python, because SQLite knows upper and lower case of ASCII alone.
    wanted = person_key(words, None)[0]
    if wanted.isdecimal():
        return athlete.number == int(wanted)
    names = (athlete.person.full_name, athlete.board_name)
    return any(wanted in person_key(name, None)[0] for name in names)


def _age(athlete: Athlete, now: datetime) -> int | None:
    birth_on = athlete.person.birth_on
    return None if birth_on is None else age_years(birth_on, now.astimezone(athlete.gym.zone).date())
