"""Whom to call, and that somebody was screened."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from athletes.models.athlete import Athlete
from athletes.models.membership import Membership
from athletes.models.rows import Fact, GymRow


class EmergencyContact(GymRow):
    """Whom to call for an athlete. It holds names, so erasure deletes it."""

    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="emergency_contacts")
    name = models.CharField(max_length=120)
    relation = models.CharField(max_length=60, blank=True)
    phone = models.CharField(max_length=40)
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"emergency contact of {self.athlete_id}"


class Screening(Fact):
    """A readiness screening was done elsewhere, and until when it counts: neither questions nor answers are kept."""

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="screenings")
    done_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True)  # the last day on which it counts; None = without end
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "athlete"], name="screening_of_athlete")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(expires_on=None) | Q(expires_on__gte=F("done_on")), name="screening_ends_later"
            )
        ]

    def __str__(self) -> str:
        return f"screening of {self.athlete_id}"
