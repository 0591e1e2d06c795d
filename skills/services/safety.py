"""Reading risk notes, logging incidents, and checking equipment."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.core.roster import NOTES_LENGTH
from athletes.models import Athlete, Membership
from athletes.services.audit import record_act
from athletes.services.names_kept_out import NameWithin, refuse_names
from athletes.services.remarks import keep_remark
from gymtrack.lib.ids import new_id
from skills.core.equipment import LOOKED_AT
from skills.models import EquipmentCheck, Incident, IncidentNote, RiskRead, Step, TrainingSession
from skills.queries.risk_notes import StepNotes, notes_of


class NotesChanged(Refusal):
    """The notes are not those that were shown."""


class NothingSaid(Refusal):
    """What happened is missing, or too long."""

    field = "words"


class NotYet(Refusal):
    """It cannot have happened later than now."""

    field = "happened_at"


class NoSuchKind(Refusal):
    """There is no such kind of incident."""

    field = "kind"


class ItemMissing(Refusal):
    """A check names the piece of equipment."""

    field = "item"


class NameInItem(NameWithin):
    """A piece of equipment is called after somebody: a check keeps that for good."""

    field = "item"


class WrongHoles(Refusal):
    """Holes are whole numbers from 1."""

    field = "hole_left"


class NotFound(Refusal):
    """What was found in order is not among what is looked at."""

    field = "found"


class ReasonMissing(Refusal):
    """What is not fit for use has a reason."""

    field = "reason"


# ---- Risk notes -------------------------------------------------------------------------------------------


def read_risk_notes(*, by: Membership, step: Step, digest: str) -> RiskRead:
    """Record that a coach has read the notes of a step, once a version. Raises NotesChanged for another digest."""
    notes = notes_of(step)
    if digest != notes.digest:
        raise NotesChanged("These risk notes have changed meanwhile: read them again.")
    with transaction.atomic():
        return note_read(by=by, notes=notes, now=timezone.now())


def note_read(*, by: Membership, notes: StepNotes, now: datetime) -> RiskRead:
    """Write down in the caller's transaction that these notes were read; what was written before stays."""
    row, created = RiskRead.objects.get_or_create(
        gym_id=by.gym_id, coach=by, step=notes.step, digest=notes.digest, defaults={"happened_at": now}
    )
    if created:
        content = {"step": notes.step.id, "digest": notes.digest}
        record_act(gym=by.gym, actor=by, act="risk_notes_read", about=row.id, content=content)
    return row


# ---- Incidents --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class IncidentEntry:
    """What happened, as somebody writes it down. `id` is made with the form: the same id twice is one incident."""

    kind: str
    happened_at: datetime
    words: str
    athlete: Athlete | None = None
    session: TrainingSession | None = None
    step: Step | None = None
    first_aid: bool = False
    doctor: bool = False
    guardian_told: bool = False
    id: UUID = field(default_factory=new_id)


def log_incident(*, by: Membership, entry: IncidentEntry) -> Incident:
    """Log an incident; it is never edited. Raises NoSuchKind, NotYet, NothingSaid."""
    if entry.kind not in Incident.Kind.values:
        raise NoSuchKind("Choose what kind of incident it was.")
    if entry.happened_at > timezone.now():
        raise NotYet("This lies ahead: say when it happened.")
    words = _words(entry.words)
    with transaction.atomic():
        if before := Incident.objects.filter(gym=by.gym_id, pk=entry.id).first():
            return before
        subject = entry.athlete.person if entry.athlete else None
        row = Incident.objects.create(
            id=entry.id,
            gym_id=by.gym_id,
            kind=entry.kind,
            athlete=entry.athlete,
            session=entry.session,
            step=entry.step,
            first_aid=entry.first_aid,
            doctor=entry.doctor,
            guardian_told=entry.guardian_told,
            entered_by=by,
            happened_at=entry.happened_at,
            remark_commitment=keep_remark(gym=by.gym, subject=subject, about=entry.id, text=words),
        )
        content = {
            "kind": entry.kind,
            "athlete": row.athlete_id,
            "happened_at": entry.happened_at,
            "first_aid": entry.first_aid,
            "doctor": entry.doctor,
            "guardian_told": entry.guardian_told,
        }
        record_act(gym=by.gym, actor=by, act="incident_logged", about=row.id, content=content)
    return row


def add_incident_note(*, by: Membership, incident: Incident, words: str, note_id: UUID | None = None) -> IncidentNote:
    """Add what was learned or done afterwards; the same id twice is one note. Raises NothingSaid."""
    words, key = _words(words), note_id or new_id()
    subject = incident.athlete.person if incident.athlete else None
    with transaction.atomic():
        if before := IncidentNote.objects.filter(gym=by.gym_id, pk=key).first():
            return before
        kept = keep_remark(gym=by.gym, subject=subject, about=key, text=words)
        now = timezone.now()
        note = IncidentNote.objects.create(
            id=key, gym_id=by.gym_id, incident=incident, entered_by=by, happened_at=now, remark_commitment=kept
        )
        record_act(gym=by.gym, actor=by, act="incident_note_added", about=note.id, content={"incident": incident.id})
    return note


def _words(words: str) -> str:
    words = words.strip()
    if not words:
        raise NothingSaid("Say what happened, in a few sentences.")
    if len(words) > NOTES_LENGTH:
        raise NothingSaid(f"That has {len(words)} characters; {NOTES_LENGTH} is the most.")
    return words


# ---- Equipment --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CheckEntry:
    """A piece of equipment as somebody found it; `id` is made with the form: the same id twice is one check."""

    item: str
    fit: bool
    found: Collection[str] = ()
    hole_left: int | None = None
    hole_right: int | None = None
    reason: str = ""
    id: UUID = field(default_factory=new_id)


def check_equipment(*, by: Membership, entry: CheckEntry) -> EquipmentCheck:
    """Record a check by name. Raises ItemMissing, NameInItem, NotFound, WrongHoles, ReasonMissing."""
    item = " ".join(entry.item.split())
    _check_entry(item, entry)
    refuse_names(gym_id=by.gym_id, text=item, kind=NameInItem)
    with transaction.atomic():
        if before := EquipmentCheck.objects.filter(gym=by.gym_id, pk=entry.id).first():
            return before
        row = EquipmentCheck.objects.create(
            id=entry.id,
            gym_id=by.gym_id,
            item=item,
            found=sorted(set(entry.found)),
            hole_left=entry.hole_left,
            hole_right=entry.hole_right,
            fit=entry.fit,
            checked_by=by,
            happened_at=timezone.now(),
            remark_commitment=keep_remark(gym=by.gym, subject=None, about=entry.id, text=entry.reason),
        )
        content = {"fit": entry.fit, "found": row.found, "holes": [entry.hole_left, entry.hole_right]}
        record_act(gym=by.gym, actor=by, act="equipment_checked", about=row.id, content=content)
    return row


ITEM_LENGTH: Final = 60
_MOST_HOLE: Final = 200


def _check_entry(item: str, entry: CheckEntry) -> None:
    if not item or len(item) > ITEM_LENGTH:
        raise ItemMissing(f"Name what you checked, as it is called in your gym, in at most {ITEM_LENGTH} characters.")
    if unknown := set(entry.found).difference(LOOKED_AT):
        raise NotFound(f"There is nothing like that to look at: {', '.join(sorted(unknown))}.")
    holes = (entry.hole_left, entry.hole_right)
    if any(hole is not None and not 1 <= hole <= _MOST_HOLE for hole in holes):
        raise WrongHoles(f"Holes are counted from 1 to {_MOST_HOLE}.")
    if entry.fit and holes[0] != holes[1] and not entry.reason.strip():
        raise ReasonMissing("The holes left and right differ: say why that is right, or that it is not fit for use.")
    if not entry.fit and not entry.reason.strip():
        raise ReasonMissing("Say why it is not fit for use: it stays in sight until somebody finds it fit.")
    if len(entry.reason.strip()) > NOTES_LENGTH:
        raise ReasonMissing(f"The reason has more than {NOTES_LENGTH} characters.")
