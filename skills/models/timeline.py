"""The kept answer of the readiness engine."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models import Athlete, GymRow
from skills.models.skill import Step


class StepTimeline(GymRow):
    """The timeline of one athlete on one step, as canonical JSON.

    Not a fact: `rebuild` makes the same bytes again. No row means the timeline of a step without facts.
    """

    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="timelines")
    step = models.ForeignKey(Step, on_delete=models.CASCADE, related_name="timelines")
    changes = models.TextField()

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "athlete", "step"], name="timeline_once")]

    def __str__(self) -> str:
        return f"timeline of {self.athlete_id} on {self.step_id}"
