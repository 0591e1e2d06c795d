"""Skills and their steps, as one gym teaches them."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models import Fact, GymRow, Membership


class Skill(GymRow):
    """What is being learned. A gym's copy, which it may edit."""

    slug = models.SlugField(max_length=60)
    name = models.CharField(max_length=80)
    purpose = models.TextField()
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["position", "slug"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "slug"], name="skill_slug_once")]

    def __str__(self) -> str:
        return self.name


class Step(GymRow):
    """One drill on the way to a skill. `code` is its name in rules and files, and never changes."""

    class Measure(models.TextChoices):
        HOLD = "hold", "hold"
        REPS = "reps", "reps"

    class Station(models.TextChoices):
        HIGH_BAR = "high_bar", "high bar"
        LOW_BAR = "low_bar", "low bar"
        RINGS = "rings", "rings"
        FLOOR = "floor", "floor or wall"
        BOX = "box", "step-up box"

    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="steps")
    code = models.SlugField(max_length=60)
    label = models.CharField(max_length=8)
    name = models.CharField(max_length=120)
    position = models.PositiveSmallIntegerField(default=0)
    measure = models.CharField(max_length=4, choices=Measure.choices)
    angle = models.CharField(max_length=80, blank=True)  # which angle can be measured, in words; "" = none
    # What the mechanics read: where it is done, and the pose that is held, None where the step holds none.
    station = models.CharField(max_length=10, choices=Station.choices, default=Station.HIGH_BAR)
    thigh_degrees = models.PositiveSmallIntegerField(null=True, blank=True)  # from straight down; 90 = level
    knee_degrees = models.PositiveSmallIntegerField(null=True, blank=True)  # flexion; 0 = straight
    # What the engine reads
    loads = models.JSONField(default=list)
    inverted = models.BooleanField(default=False)
    over_bar = models.BooleanField(default=False)
    low_bar_check = models.BooleanField(default=False)
    side_drill = models.BooleanField(default=False)
    asks_clearance = models.BooleanField(default=False)
    needs_sign_off = models.BooleanField(default=False)
    recheck_days = models.PositiveSmallIntegerField(null=True, blank=True)
    grades = models.JSONField(default=list)
    # What people read
    purpose = models.TextField()
    set_up = models.JSONField(default=list)
    cautions = models.JSONField(default=list)
    getting_down = models.TextField(blank=True)
    dose = models.JSONField(default=dict)
    swap_drill = models.JSONField(default=dict)
    trade_practice = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["skill__position", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "code"], name="step_code_once"),
            models.CheckConstraint(
                condition=models.Q(inverted=False, over_bar=False) | models.Q(asks_clearance=True, needs_sign_off=True),
                name="step_risk_asks_clearance",
            ),
            models.CheckConstraint(
                condition=models.Q(thigh_degrees=None, knee_degrees=None)
                | models.Q(
                    thigh_degrees__isnull=False,
                    thigh_degrees__lte=180,
                    knee_degrees__isnull=False,
                    knee_degrees__lte=180,
                ),
                name="step_pose_whole_or_none",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} {self.name}"


class StepVersion(Fact):
    """A step as it was taught from `happened_at` on; `text` is canonical JSON of all that a skill file says of it.

    The criterion is not in it: that one has versions of its own.
    """

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    text = models.TextField()
    adopted_by = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "step", "number"], name="step_version_number_once")
        ]

    def __str__(self) -> str:
        return f"version {self.number} of {self.step_id}"


class Prerequisite(GymRow):
    """An edge of the graph: `step` opens only after `requires` is passed."""

    step = models.ForeignKey(Step, on_delete=models.CASCADE, related_name="prerequisites")
    requires = models.ForeignKey(Step, on_delete=models.CASCADE, related_name="unlocks")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["gym", "step", "requires"], name="prerequisite_once"),
            models.CheckConstraint(condition=~models.Q(step=models.F("requires")), name="prerequisite_not_itself"),
        ]

    def __str__(self) -> str:
        return f"{self.step_id} requires {self.requires_id}"


class StepWord(GymRow):
    """A named thing of a step, told apart by its code within the step."""

    step = models.ForeignKey(Step, on_delete=models.CASCADE, related_name="%(class)ss")
    code = models.SlugField(max_length=60)
    name = models.CharField(max_length=200)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        abstract = True
        ordering: ClassVar = ["position"]

    def __str__(self) -> str:
        return self.name


class Checkpoint(StepWord):
    """What a correct attempt shows."""

    class Meta(StepWord.Meta):
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "step", "code"], name="checkpoint_once")]


class Fault(StepWord):
    """A named error, and the few words that mend it."""

    cue = models.CharField(max_length=200)
    dangerous = models.BooleanField(default=False)

    class Meta(StepWord.Meta):
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "step", "code"], name="fault_once")]


class Variant(StepWord):
    """An accepted easier form; recorded, not a fault."""

    class Meta(StepWord.Meta):
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "step", "code"], name="variant_once")]
