"""Attempts and their voids: what was tried, and what is to be taken as not having happened."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models import Athlete, Fact, Membership
from skills.models.session import TrainingSession
from skills.models.skill import Step


class Attempt(Fact):
    """One try: a hold (`hold_tenths`, `reps` times) or a set of reps. Its id is made by the device that logged it."""

    class Source(models.TextChoices):
        JUDGED = "judged", "judged: a coach watched"
        COUNTED = "counted", "counted: a coach counted, nobody timed"
        TIMED_ONLY = "timed_only", "timed only: group clock or partner"
        OWN = "own", "the athlete's own entry"

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="attempts")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="attempts")
    session = models.ForeignKey(TrainingSession, on_delete=models.PROTECT, null=True, related_name="attempts")
    logged_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    hold_tenths = models.PositiveIntegerField(null=True)
    reps = models.PositiveSmallIntegerField(default=1)
    unbroken = models.BooleanField(default=True)
    source = models.CharField(max_length=10, choices=Source.choices)
    assistance = models.CharField(max_length=40, default="none")
    variant = models.CharField(max_length=60, blank=True)
    faults = models.JSONField(default=list)
    missed = models.JSONField(default=list)
    effort = models.PositiveSmallIntegerField(null=True)
    pain = models.BooleanField(default=False)
    grade = models.PositiveSmallIntegerField(default=0)
    angle_degrees = models.PositiveSmallIntegerField(null=True)  # of what the step says; None = not measured
    closed_try = models.BooleanField(default=False)
    # Why the device's own time may be wrong ("slept", "hidden"); '' for no doubt.
    doubt = models.CharField(max_length=10, blank=True)
    remark_commitment = models.CharField(max_length=64, blank=True)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["gym", "athlete", "step", "happened_at"], name="attempt_of_step"),
            models.Index(fields=["gym", "happened_at"], name="attempt_by_time"),
            models.Index(fields=["gym", "session"], name="attempt_of_session"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(hold_tenths=None) | Q(hold_tenths__gt=0), name="attempt_hold_positive"),
            models.CheckConstraint(condition=Q(reps__gte=1) & Q(reps__lte=500), name="attempt_reps_in_range"),
            models.CheckConstraint(condition=Q(effort=None) | Q(effort__lte=10), name="attempt_effort_in_range"),
            models.CheckConstraint(
                condition=Q(angle_degrees=None) | Q(angle_degrees__lte=180), name="attempt_angle_in_range"
            ),
        ]

    def __str__(self) -> str:
        return f"attempt {self.id}"

    @property
    def is_clean(self) -> bool:
        """No fault, no missed checkpoint, no pain."""
        return not (self.faults or self.missed or self.pain)


class AttemptVoid(Fact):
    """The attempt is to be taken as not having happened (mis-tapped athlete, wrong clock); it stays in the history."""

    attempt = models.OneToOneField(Attempt, on_delete=models.PROTECT, related_name="void")
    # The attempt's, again: an athlete's voids are read with every attempt, and must not be looked for among all.
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="+")
    voided_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"void of {self.attempt_id}"
