"""Certificates of the staff: what the right to sign off rests on."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from athletes.models.membership import Membership
from athletes.models.rows import Fact


class Certificate(Fact):
    """A certificate as somebody entered it; of the same kind for the same person the latest entry holds."""

    class Kind(models.TextChoices):
        COACHING = "coaching", "coaching certificate"
        FIRST_AID = "first_aid", "first aid"
        SAFEGUARDING = "safeguarding", "safeguarding check"

    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="certificates")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)  # the last day on which it is good; None = without end
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "membership", "kind"], name="certificate_of_membership")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(valid_until=None) | Q(valid_until__gte=F("valid_from")), name="certificate_ends_later"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.membership_id}"
