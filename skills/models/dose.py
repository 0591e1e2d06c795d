"""What a coach put in place of the week's practice that was worked out."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models import Athlete, Fact, Membership
from skills.models.skill import Step


class DoseChange(Fact):
    """A coach's own dose for an athlete's step in one week of the gym; the latest one of the week stands.

    All five figures None: not to be practised in that week. `taken_back`: the worked-out dose stands again. The
    reason is a remark, held apart from the fact.
    """

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="dose_changes")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="+")
    week_on = models.DateField()  # its Monday
    sets = models.PositiveSmallIntegerField(null=True)
    reps = models.PositiveSmallIntegerField(null=True)
    hold_seconds = models.PositiveSmallIntegerField(null=True)
    rest_seconds = models.PositiveSmallIntegerField(null=True)
    days = models.PositiveSmallIntegerField(null=True)
    taken_back = models.BooleanField(default=False)
    changed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "athlete", "week_on"], name="dose_change_of_week")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(sets__gt=0, reps__gt=0, rest_seconds__isnull=False, days__gt=0, taken_back=False)
                | Q(sets=None, reps=None, hold_seconds=None, rest_seconds=None, days=None),
                name="dose_change_whole_or_none",
            )
        ]

    def __str__(self) -> str:
        return f"dose of {self.step_id} from {self.week_on}"
