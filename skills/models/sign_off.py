"""Sign-offs and openings: a coach's recorded decisions, and the events that open a step."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models import Athlete, Fact, Membership
from skills.models.criterion import CriterionVersion
from skills.models.skill import Step


class SignOff(Fact):
    """A coach's decision at one of a step's two gates: the entrance (may try it) or the finish (has it)."""

    class Gate(models.TextChoices):
        ENTRANCE = "entrance", "may try the step"
        FINISH = "finish", "has the step"

    class Decision(models.TextChoices):
        PASSED = "passed", "passed"
        NOT_YET = "not_yet", "not yet"
        REVOKED = "revoked", "revoked"

    class Clearance(models.TextChoices):
        SPOTTED = "spotted", "spotted"
        PRESENT = "present", "coach present"
        ALONE = "alone", "alone"

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="sign_offs")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="sign_offs")
    gate = models.CharField(max_length=8, choices=Gate.choices)
    decision = models.CharField(max_length=7, choices=Decision.choices)
    clearance = models.CharField(max_length=7, choices=Clearance.choices, blank=True)
    criterion = models.ForeignKey(CriterionVersion, on_delete=models.PROTECT, related_name="sign_offs")
    evidence = models.JSONField(default=list)
    signed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64, blank=True)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["gym", "athlete", "step", "happened_at"], name="sign_off_of_step"),
            models.Index(fields=["gym", "happened_at"], name="sign_off_by_time"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(decision="passed") & ~Q(clearance="") | ~Q(decision="passed") & Q(clearance=""),
                name="sign_off_passed_has_clearance",
            ),
            models.CheckConstraint(
                condition=Q(decision="passed") | ~Q(remark_commitment=""), name="sign_off_refusal_has_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.decision} at the {self.gate} of {self.step_id}"


class Opening(Fact):
    """The event that opened a step for an athlete; it latches."""

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="openings")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="openings")
    sign_off = models.OneToOneField(SignOff, on_delete=models.PROTECT, null=True, related_name="opening")

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["gym", "athlete", "step"], name="opening_of_step"),
            models.Index(fields=["gym", "happened_at"], name="opening_by_time"),
        ]

    def __str__(self) -> str:
        return f"opening of {self.step_id}"
