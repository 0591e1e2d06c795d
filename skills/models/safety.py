"""Safety: which risk notes a coach has read, what happened, and whether the equipment was fit for use."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models import Athlete, Fact, Membership
from skills.models.session import TrainingSession
from skills.models.skill import Step


class RiskRead(Fact):
    """A coach has read the risk notes of a step; `digest` is the SHA-256 of the notes, so that new ones are asked."""

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="risk_reads")
    digest = models.CharField(max_length=64)
    coach = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "coach", "step", "digest"], name="risk_read_once")
        ]

    def __str__(self) -> str:
        return f"risk notes of {self.step_id} read by {self.coach_id}"


class Incident(Fact):
    """Something went wrong, or nearly. What happened stands in a remark; later words are added, never put in place."""

    class Kind(models.TextChoices):
        FALL = "fall", "fall or slip off the bar"
        COLLISION = "collision", "collision"
        EQUIPMENT = "equipment", "equipment gave way"
        UNWELL = "unwell", "somebody was unwell"
        NEARLY = "nearly", "nearly: nobody was hurt"
        OTHER = "other", "something else"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents")
    session = models.ForeignKey(TrainingSession, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    first_aid = models.BooleanField(default=False)
    doctor = models.BooleanField(default=False)  # seen by, or sent to, somebody licensed
    guardian_told = models.BooleanField(default=False)
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "happened_at"], name="incident_by_time")]

    def __str__(self) -> str:
        return f"incident {self.id}"


class IncidentNote(Fact):
    """What was learned or done about an incident afterwards."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="notes")
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"note on incident {self.incident_id}"


class EquipmentCheck(Fact):
    """A piece of equipment looked over by name: what was found in order, its hole numbers, and whether it is fit."""

    item = models.CharField(max_length=60)
    found = models.JSONField(default=list)  # codes of what was looked at and found in order
    hole_left = models.PositiveSmallIntegerField(null=True, blank=True)
    hole_right = models.PositiveSmallIntegerField(null=True, blank=True)
    fit = models.BooleanField()
    checked_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "happened_at"], name="equipment_check_by_time")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(fit=True) | ~Q(remark_commitment=""), name="equipment_check_unfit_has_reason"
            )
        ]

    def __str__(self) -> str:
        return f"check of {self.item}"
