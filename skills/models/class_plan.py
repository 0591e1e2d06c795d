"""Where people work in a class, the plan of who is where, and where in the plan the class is."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models import Fact, GymRow, Membership
from skills.models.equipment import Bar
from skills.models.session import TrainingSession
from skills.models.skill import Step


class WorkPlace(GymRow):
    """A station: a place to work for `capacity` people at a time. With a bar in holes it is set to people's height.

    It serves the steps that are done at its kind of station, or of those only the ones it names (`ServedStep`).
    """

    name = models.CharField(max_length=60)
    position = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(max_length=10, choices=Step.Station.choices)
    capacity = models.PositiveSmallIntegerField()
    bar = models.ForeignKey(Bar, on_delete=models.PROTECT, null=True, blank=True, related_name="work_places")
    spot_from = models.CharField(max_length=120, blank=True)  # where a spotter stands, in words
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["position", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "name"], condition=Q(retired_at=None), name="work_place_name_once"),
            models.CheckConstraint(condition=Q(capacity__gte=1) & Q(capacity__lte=60), name="work_place_capacity"),
        ]

    def __str__(self) -> str:
        return self.name


class ServedStep(GymRow):
    """A step that a station serves, where it does not serve all of its kind."""

    place = models.ForeignKey(WorkPlace, on_delete=models.CASCADE, related_name="served")
    step = models.ForeignKey(Step, on_delete=models.CASCADE, related_name="+")

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "place", "step"], name="served_step_once")]

    def __str__(self) -> str:
        return f"{self.step_id} at {self.place_id}"


class ClassPlan(Fact):
    """A plan of a class as it was made; the one with the highest number stands.

    `asked` and `planned` are canonical JSON of `skills.core.rotation` (people and stations by id, no names), so that
    the same plan can be checked and made again. It holds for the rotations from `first_rotation` on.
    """

    session = models.ForeignKey(TrainingSession, on_delete=models.PROTECT, related_name="plans")
    number = models.PositiveSmallIntegerField()
    first_rotation = models.PositiveSmallIntegerField(default=0)
    rotations = models.PositiveSmallIntegerField()
    rotation_minutes = models.PositiveSmallIntegerField()
    warm_up_minutes = models.PositiveSmallIntegerField(default=0)
    reset_minutes = models.PositiveSmallIntegerField(default=3)
    asked = models.TextField()
    planned = models.TextField()
    made_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "session", "number"], name="class_plan_number_once"),
            models.CheckConstraint(condition=Q(rotations__gte=1) & Q(rotation_minutes__gte=1), name="class_plan_whole"),
        ]

    def __str__(self) -> str:
        return f"plan {self.number} of {self.session_id}"


class RotationMark(Fact):
    """A coach's tap on the clock of a class: from this moment on it is in this rotation.

    Without a further one the next rotation begins when this one's minutes are over.
    """

    session = models.ForeignKey(TrainingSession, on_delete=models.PROTECT, related_name="rotation_marks")
    rotation = models.PositiveSmallIntegerField()
    skipped = models.BooleanField(default=False)  # the rotation before was cut short
    marked_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "session", "happened_at"], name="rotation_mark_by_time")]

    def __str__(self) -> str:
        return f"rotation {self.rotation} of {self.session_id}"
