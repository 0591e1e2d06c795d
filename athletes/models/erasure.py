"""Erasure: who asked that what is kept about a person goes, and that it went."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models.membership import Membership
from athletes.models.person import Person
from athletes.models.rows import Fact, GymRow


class ErasureRequest(GymRow):
    """Somebody asked for it; an owner answers."""

    class Answer(models.TextChoices):
        DONE = "done", "done"
        REFUSED = "refused", "refused"

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="erasure_requests")
    asked_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    answer = models.CharField(max_length=7, choices=Answer.choices, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "person"], condition=Q(answer=""), name="erasure_asked_once"),
            models.CheckConstraint(
                condition=Q(answer="", answered_at=None) | ~Q(answer="") & Q(answered_at__isnull=False),
                name="erasure_answer_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"erasure asked for {self.person_id}"


class Erasure(Fact):
    """What was kept about a person was erased. By this a backup that is restored learns what to erase again."""

    subject = models.UUIDField()  # the person's id, which says nothing to who has no person of that id
    done_by = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"erasure of {self.subject}"
