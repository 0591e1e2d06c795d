"""Criteria: the rules that decide when a step is met, versioned and never edited in place."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models import Fact, Membership
from skills.models.skill import Step


class CriterionVersion(Fact):
    """A criterion in force for a step from `happened_at` until the next version's. `tree` is canonical JSON."""

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="criteria")
    number = models.PositiveIntegerField()
    tree = models.TextField()
    adopted_by = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "step", "number"], name="criterion_number_once")
        ]

    def __str__(self) -> str:
        return f"criterion {self.number} of {self.step_id}"
