"""Somebody asks that what is kept about a person goes; an owner answers."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import ErasureRequest, Guardianship, Membership, Person
from athletes.services.audit import record_act
from athletes.services.erasure import AlreadyErased
from athletes.services.remarks import keep_remark


class NotYours(Refusal):
    """People ask for themselves, guardians for their wards."""


class AlreadyAsked(Refusal):
    """A request is open."""


class AlreadyAnswered(Refusal):
    """The request is not open any more."""


class ReasonMissing(Refusal):
    """Who asked is told why it is refused."""

    field = "reason"


def ask_erasure(*, by: Membership, person: Person) -> ErasureRequest:
    """Ask for it; return the request. Raises NotYours, AlreadyErased, AlreadyAsked."""
    with transaction.atomic():
        found = Person.objects.select_for_update().get(gym=by.gym_id, pk=person.pk)
        _check(by, found)
        row = ErasureRequest.objects.create(gym=by.gym, person=found, asked_by=by, asked_at=timezone.now())
        record_act(gym=by.gym, actor=by, act="erasure_asked", about=row.id, content={"person": found.id})
    return row


def refuse_erasure(*, by: Membership, request: ErasureRequest, reason: str) -> ErasureRequest:
    """Answer an open request with no, and why. Raises ReasonMissing, AlreadyAnswered."""
    if not reason.strip():
        raise ReasonMissing("Write why: who asked reads it.")
    with transaction.atomic():
        row = ErasureRequest.objects.select_for_update().get(gym=by.gym_id, pk=request.pk)
        if row.answer:
            raise AlreadyAnswered("This request has been answered meanwhile.")
        row.answer, row.answered_at, row.answered_by = ErasureRequest.Answer.REFUSED, timezone.now(), by
        row.save(update_fields=["answer", "answered_at", "answered_by"])
        kept = keep_remark(gym=by.gym, subject=row.person, about=row.id, text=reason)
        content = {"person": row.person_id, "remark": kept}
        record_act(gym=by.gym, actor=by, act="erasure_refused", about=row.id, content=content)
    return row


def _check(by: Membership, person: Person) -> None:
    wards = Guardianship.objects.filter(guardian=by, ended_at=None, athlete__person=person)
    if person.pk != by.person_id and not wards.exists():
        raise NotYours("You can ask for yourself, and as a guardian for your wards.")
    if person.erased_at:
        raise AlreadyErased("What was kept about this person has been erased already.")
    if person.erasure_requests.filter(answer="").exists():
        raise AlreadyAsked("This has been asked for already. An owner of the gym answers.")
