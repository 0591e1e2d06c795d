"""The only ways to fetch a record of practice: each starts from the gym of the member who asks.

What belongs to another gym, or is not there, is Http404 alike, so that nothing is learned.
"""

from __future__ import annotations

from typing import TypeVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

from athletes.access.rules import holds
from athletes.models import Athlete, Caution, GymRow, Membership
from skills.models import Attempt, Bar, Incident, Step, TrainingSession, WorkPlace

Row = TypeVar("Row", bound=GymRow)


def access_session(member: Membership, session_id: UUID) -> TrainingSession:
    """Return that training session of the member's gym."""
    return _of_gym(member, TrainingSession.objects.select_related("coach__person", "focus", "gym"), session_id)


def access_attempt(member: Membership, attempt_id: UUID) -> Attempt:
    """Return that attempt of the member's gym, voided or not."""
    return _of_gym(member, Attempt.objects.select_related("athlete__person", "athlete__gym", "void"), attempt_id)


def access_own_attempt(member: Membership, athlete: Athlete, attempt_id: UUID) -> Attempt:
    """Return that own entry of an athlete in sight, voided or not, if the member made it; Http404 otherwise."""
    rows = Attempt.objects.select_related("athlete__person", "athlete__gym")
    found = rows.filter(gym=member.gym_id, athlete=athlete, source=Attempt.Source.OWN, logged_by=member)
    row = found.filter(pk=attempt_id).first()
    if row is None:
        raise Http404
    return row


def access_step(member: Membership, step_id: UUID) -> Step:
    """Return that step of the member's gym."""
    return _of_gym(member, Step.objects.select_related("skill"), step_id)


def access_caution(member: Membership, caution_id: UUID) -> Caution:
    """Return that caution of the member's gym, lifted or not."""
    return _of_gym(member, Caution.objects.select_related("athlete"), caution_id)


def access_incident(member: Membership, incident_id: UUID) -> Incident:
    """Return that incident of the member's gym."""
    rows = Incident.objects.select_related(
        "athlete__person", "athlete__gym", "session", "step", "entered_by__person", "gym"
    )
    return _of_gym(member, rows, incident_id)


def access_bar(member: Membership, bar_id: UUID) -> Bar:
    """Return that bar of the member's gym, in use or not."""
    return _of_gym(member, Bar.objects.select_related("gym"), bar_id)


def access_work_place(member: Membership, place_id: UUID) -> WorkPlace:
    """Return that station of the member's gym, in use or not."""
    return _of_gym(member, WorkPlace.objects.select_related("gym", "bar"), place_id)


def may(member: Membership, right: str) -> bool:
    """Whether the member has a right such as "may_log"; an owner has all of them."""
    return holds(member, right)


def _of_gym(member: Membership, rows: QuerySet[Row], row_id: UUID) -> Row:
    row = rows.filter(gym=member.gym_id, pk=row_id).first()
    if row is None or not member.is_staff_member:
        raise Http404
    return row
