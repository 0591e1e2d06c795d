"""Training sessions: one class or open-gym slot, its coach and who is there."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models import Athlete, Fact, GymRow, Membership
from skills.models.equipment import Bar
from skills.models.skill import Step


class TrainingSession(GymRow):
    """A class. Open until it is ended; attempts may still be corrected afterwards."""

    name = models.CharField(max_length=80)
    coach = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="training_sessions")
    starts_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    focus = models.ForeignKey(Step, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-starts_at"]
        indexes: ClassVar = [models.Index(fields=["gym", "starts_at"], name="session_by_start")]

    def __str__(self) -> str:
        return self.name


class Attendance(GymRow):
    """An athlete who is present in a session, with the step in hand where the coach chose one."""

    session = models.ForeignKey(TrainingSession, on_delete=models.CASCADE, related_name="attendances")
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="attendances")
    step = models.ForeignKey(Step, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    marked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "session", "athlete"], name="attendance_once")]

    def __str__(self) -> str:
        return f"{self.athlete_id} in {self.session_id}"


class BarCheck(Fact):
    """A low bar looked over by name: tied at both hooks, unloaded, anchored, clear above and behind, mat."""

    session = models.ForeignKey(TrainingSession, on_delete=models.PROTECT, null=True, related_name="bar_checks")
    checked_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    bar = models.CharField(max_length=60)
    # The bar of the gym's list and the hole it was set into, counted from the lowest; None for a bar only named.
    of = models.ForeignKey(Bar, on_delete=models.PROTECT, null=True, related_name="checks")
    hole = models.PositiveSmallIntegerField(null=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "happened_at"], name="bar_check_by_time")]

    def __str__(self) -> str:
        return f"check of {self.bar}"
