"""The audit chain: who did what, one chain a gym, each link sealed with the one before."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models.gym import Gym
from athletes.models.membership import Membership
from athletes.models.rows import GymRow


class AuditHead(models.Model):
    """The end of a gym's chain; its row lock puts the acts of a gym in one order."""

    gym = models.OneToOneField(Gym, on_delete=models.PROTECT, primary_key=True, related_name="audit_head")
    length = models.PositiveBigIntegerField(default=0)
    seal = models.CharField(max_length=64, default="", blank=True)

    def __str__(self) -> str:
        return f"audit of {self.gym_id}: {self.length}"


class AuditEntry(GymRow):
    """One act. `seal` is an HMAC-SHA256 over the seal before and this entry's canonical bytes."""

    append_only = True

    position = models.PositiveBigIntegerField()
    recorded_at = models.DateTimeField()
    actor = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")
    act = models.CharField(max_length=40)
    about = models.UUIDField()
    content = models.TextField()  # canonical JSON: no names, only ids and figures
    seal = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "position"], name="audit_position_once")]

    def __str__(self) -> str:
        return f"{self.position} {self.act}"
