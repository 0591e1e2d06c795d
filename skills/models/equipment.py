"""The gym's bars: where they are, how high they can be, and what is above and around them."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models import GymRow


class Bar(GymRow):
    """A bar people hang on: fixed at one height, or set into one of the evenly spaced holes of a rack.

    Heights are of the top of the bar above the floor it stands on, mats not counted. What is not known is None and
    is asked for; it is never taken as free.
    """

    class Kind(models.TextChoices):
        PULL_UP = "pull_up", "pull-up bar"
        TIED = "tied", "bar tied on hooks in a rack"
        RAIL = "rail", "gymnastics bar"
        OTHER = "other", "other bar"

    name = models.CharField(max_length=60)
    position = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    diameter_tenths_mm = models.PositiveSmallIntegerField()
    # One of the two: a fixed height, or holes.
    height_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    first_hole_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    hole_pitch_tenths_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    holes = models.PositiveSmallIntegerField(null=True, blank=True)
    # What is above and around, each None while nobody has measured it.
    ceiling_mm = models.PositiveSmallIntegerField(null=True, blank=True)  # floor to ceiling, or to what hangs from it
    clear_front_mm = models.PositiveSmallIntegerField(null=True, blank=True)  # bar to the next bar or wall, in front
    clear_behind_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    mat_mm = models.PositiveSmallIntegerField(default=0)  # thickness of the mat beneath it
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["position", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "name"], condition=Q(retired_at=None), name="bar_name_once"),
            models.CheckConstraint(
                condition=Q(height_mm__isnull=False, first_hole_mm=None, hole_pitch_tenths_mm=None, holes=None)
                | Q(height_mm=None, first_hole_mm__isnull=False, hole_pitch_tenths_mm__gt=0, holes__gt=0),
                name="bar_fixed_or_in_holes",
            ),
        ]

    def __str__(self) -> str:
        return self.name
