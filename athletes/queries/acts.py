"""Who did what, read off the audit chain; names as they are now, so that who was erased is nobody."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet

from athletes.core.act_words import NOBODY, act_sentence
from athletes.models import Athlete, AuditEntry, Gym, Membership, Person

PAGE: Final = 50
_BATCH: Final = 500

# Where an act's content names people; the first that is found is whom it was about.
_NAMING: Final = ("athlete", "membership", "guardian", "person")


@dataclass(frozen=True, slots=True)
class Act:
    """One act: its place in the chain, when, who, what in words, and about whom ('' for nobody in particular)."""

    position: int
    at: datetime
    who: str
    did: str
    whom: str
    entry: AuditEntry


@dataclass(frozen=True, slots=True)
class ActsAsked:
    """Which acts: of one person, of a span of time, before a place in the chain; None for all."""

    who: UUID | None = None
    since: datetime | None = None
    until: datetime | None = None
    before: int | None = None


def acts_of(gym: Gym, asked: ActsAsked) -> tuple[list[Act], int | None]:
    """Return a page of acts, the newest first, and before which place the next one begins, None on the last."""
    entries = list(_entries(gym, asked).order_by("-position")[: PAGE + 1])
    more = entries[PAGE - 1].position if len(entries) > PAGE else None
    return _told(gym, entries[:PAGE]), more


def all_acts(gym: Gym, asked: ActsAsked) -> Iterator[Act]:
    """Yield all acts asked for, the oldest first, a few hundred rows at a time."""
    last = 0
    while rows := list(_entries(gym, asked).filter(position__gt=last).order_by("position")[:_BATCH]):
        yield from _told(gym, rows)
        last = rows[-1].position


def people_who_act(gym: Gym) -> list[tuple[UUID, str]]:
    """Return who is or was on the staff, by name; erased people are not to be chosen one by one."""
    staff = Membership.objects.filter(gym=gym, role__in=["owner", "coach"]).values("person")
    found = Person.objects.filter(gym=gym, pk__in=staff, erased_at=None).values_list("pk", "full_name")
    return sorted(found, key=lambda person: person[1].casefold())


def _entries(gym: Gym, asked: ActsAsked) -> QuerySet[AuditEntry]:
    rows = AuditEntry.objects.filter(gym=gym).select_related("actor__person__athlete__gym")
    if asked.who:
        rows = rows.filter(
            actor__in=[*Membership.objects.filter(gym=gym, person=asked.who).values_list("pk", flat=True)]
        )
    if asked.since:
        rows = rows.filter(recorded_at__gte=asked.since)
    if asked.until:
        rows = rows.filter(recorded_at__lt=asked.until)
    return rows.filter(position__lt=asked.before) if asked.before else rows


def _told(gym: Gym, entries: Sequence[AuditEntry]) -> list[Act]:
    contents = [_content(entry) for entry in entries]
    named = [_ids(entry, content) for entry, content in zip(entries, contents, strict=True)]
    names = _names(gym, {each for ids in named for each in ids})
    return [
        Act(
            entry.position,
            entry.recorded_at,
            _name(entry.actor.person) if entry.actor else NOBODY,
            act_sentence(entry.act, content),
            next((names[each] for each in ids if each in names), ""),
            entry,
        )
        for entry, content, ids in zip(entries, contents, named, strict=True)
    ]


def _content(entry: AuditEntry) -> Mapping[str, Any]:
    content: Mapping[str, Any] = json.loads(entry.content)
    return content


def _ids(entry: AuditEntry, content: Mapping[str, Any]) -> list[UUID]:
    """Return whom an act may be about: not who did it, who stands beside it already."""
    found = [UUID(str(content[name])) for name in _NAMING if content.get(name)]
    return [each for each in (*found, entry.about) if each != entry.actor_id]


def _names(gym: Gym, ids: Collection[UUID]) -> dict[UUID, str]:
    """Return names by the ids of athletes, memberships and people; minors stand by initials."""
    of_gym = {"gym": gym, "pk__in": ids}
    people = Person.objects.filter(**of_gym).select_related("athlete__gym")
    names = {person.pk: _name(person) for person in people}
    members = Membership.objects.filter(**of_gym).select_related("person__athlete__gym")
    names |= {member.pk: _name(member.person) for member in members}
    athletes = Athlete.objects.filter(**of_gym).select_related("person", "gym")
    return names | {athlete.pk: f"{athlete.number} {athlete.board_name}" for athlete in athletes}


def _name(person: Person) -> str:
    athlete: Athlete | None = getattr(person, "athlete", None)
    return f"{athlete.number} {athlete.board_name}" if athlete else person.full_name
