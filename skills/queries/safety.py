"""What happened, and how the equipment was found."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from athletes.models import Gym
from skills.models import EquipmentCheck, Incident, IncidentNote, Step, TrainingSession
from skills.queries.evidence import remarks_by_commitment

_SESSIONS = 30


@dataclass(frozen=True, slots=True)
class Period:
    """Days of the gym, both included; None is open on that side."""

    first: date | None = None
    last: date | None = None

    def bounds(self, gym: Gym) -> dict[str, datetime]:
        """Return the same as a filter on `happened_at`."""
        since = {"happened_at__gte": _midnight(gym, self.first)} if self.first else {}
        until = {"happened_at__lt": _midnight(gym, self.last + timedelta(days=1))} if self.last else {}
        return {**since, **until}


def _midnight(gym: Gym, day: date) -> datetime:
    return datetime.combine(day, time(), gym.zone)


@dataclass(frozen=True, slots=True)
class IncidentWhole:
    """An incident with its words, and what was added since, the oldest first; erased words are ''."""

    row: Incident
    words: str
    notes: tuple[tuple[IncidentNote, str], ...]


def incidents_of(gym: Gym, period: Period) -> QuerySet[Incident]:
    """Return the incidents of a period, the newest first; one query."""
    rows = Incident.objects.filter(gym=gym, **period.bounds(gym))
    return rows.select_related("athlete__person", "athlete__gym", "session", "step", "entered_by__person").order_by(
        "-happened_at", "-pk"
    )


def whole_incidents(gym: Gym, rows: Collection[Incident]) -> list[IncidentWhole]:
    """Return incidents with all that was said of them; two queries."""
    notes: dict[UUID, list[IncidentNote]] = {row.id: [] for row in rows}
    added = IncidentNote.objects.filter(gym=gym, incident__in=notes).select_related("entered_by__person")
    for note in added.order_by("happened_at", "pk"):
        notes[note.incident_id].append(note)
    texts = remarks_by_commitment(gym, [*notes, *(note.id for found in notes.values() for note in found)])
    return [
        IncidentWhole(row, texts.get(row.remark_commitment, ""), tuple(_told(notes[row.id], texts))) for row in rows
    ]


def _told(notes: Collection[IncidentNote], texts: Mapping[str, str]) -> list[tuple[IncidentNote, str]]:
    return [(note, texts.get(note.remark_commitment, "")) for note in notes]


def recent_sessions(gym: Gym) -> list[TrainingSession]:
    """Return the last classes, the newest first; one query."""
    return list(TrainingSession.objects.filter(gym=gym).order_by("-starts_at", "pk")[:_SESSIONS])


def step_named(gym: Gym, step_id: UUID) -> Step | None:
    """Return that step of the gym, or None."""
    return Step.objects.filter(gym=gym, pk=step_id).first()


@dataclass(frozen=True, slots=True)
class CheckWhole:
    """A check of a piece of equipment with its words."""

    row: EquipmentCheck
    reason: str


def checks_of(gym: Gym, period: Period) -> QuerySet[EquipmentCheck]:
    """Return the checks of a period, the newest first; one query."""
    rows = EquipmentCheck.objects.filter(gym=gym, **period.bounds(gym))
    return rows.select_related("checked_by__person").order_by("-happened_at", "-pk")


def whole_checks(gym: Gym, rows: Collection[EquipmentCheck]) -> list[CheckWhole]:
    """Return checks with their words; one query where any has some."""
    about = [row.id for row in rows if row.remark_commitment]
    texts = remarks_by_commitment(gym, about) if about else {}
    return [CheckWhole(row, texts.get(row.remark_commitment, "")) for row in rows]


def equipment_now(gym: Gym) -> list[CheckWhole]:
    """Return the last check of each item: what is not fit first, then by name; two queries at most."""
    same = EquipmentCheck.objects.filter(gym=gym, item=OuterRef("item")).order_by("-happened_at", "-pk")
    last = EquipmentCheck.objects.filter(gym=gym, pk=Subquery(same.values("pk")[:1])).select_related(
        "checked_by__person"
    )
    return whole_checks(gym, sorted(last, key=lambda row: (row.fit, row.item)))
