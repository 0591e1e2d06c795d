"""Cautions: what an athlete may not do for now."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models.athlete import Athlete
from athletes.models.membership import Membership
from athletes.models.rows import Fact


class Load(models.TextChoices):
    """What a step asks of a body, and what a caution may forbid."""

    HANGING = "hanging", "hanging"
    INVERSION = "inversion", "inversion"
    PULLING = "pulling", "pulling"
    SUPPORT = "support", "support"
    STRAIGHT_ARM = "straight_arm", "straight-arm load"
    LANDING = "landing", "landing"


class Caution(Fact):
    """No such load for this athlete, from `happened_at` until `until_at` or until it is lifted."""

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="cautions")
    loads = models.JSONField()
    until_at = models.DateTimeField(null=True, blank=True)
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    remark_commitment = models.CharField(max_length=64, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "athlete", "happened_at"], name="caution_of_athlete")]

    def __str__(self) -> str:
        return f"caution for {self.athlete_id}: {', '.join(self.loads)}"


class CautionLift(Fact):
    """A coach's lifting of a caution, from `happened_at` on."""

    caution = models.ForeignKey(Caution, on_delete=models.PROTECT, related_name="lifts")
    lifted_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"lift of {self.caution_id}"


class SkinNote(Fact):
    """Torn skin was seen: shown until a day passes, apart from cautions; it pauses nothing and needs no lifting."""

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="skin_notes")
    until_on = models.DateField()  # the last day on which it is shown
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "athlete", "until_on"], name="skin_note_of_athlete")]

    def __str__(self) -> str:
        return f"torn skin of {self.athlete_id} until {self.until_on}"
