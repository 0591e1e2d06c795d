"""Invitations: how somebody comes to sign in, with a password that nobody else ever knew."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models.athlete import Athlete
from athletes.models.membership import Membership
from athletes.models.person import Person
from athletes.models.rows import GymRow


class Invitation(GymRow):
    """A code that makes its holder a member of the gym, once, until it runs out or is taken back.

    Only the code's digest is kept. Name and address of who is invited stand with the person. `athlete` is who an
    athlete's log-in is for, or whose guardian is invited; None for staff.
    """

    role = models.CharField(max_length=8, choices=Membership.Role.choices)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="invitations")
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, null=True, blank=True, related_name="invitations")
    rights = models.JSONField(default=list)
    sign_off_skills = models.JSONField(null=True, blank=True)  # slugs; None = every skill
    digest = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    until_at = models.DateTimeField()
    mailed_at = models.DateTimeField(null=True, blank=True)  # the code went to the person's address, and so proves it
    revoked_at = models.DateTimeField(null=True, blank=True)
    used_at = models.DateTimeField(null=True, blank=True)
    became = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "made_at"], name="invitation_by_time")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(until_at__gt=models.F("made_at")), name="invitation_lasts"),
            models.CheckConstraint(
                condition=Q(role__in=["athlete", "guardian"], athlete__isnull=False)
                | Q(role__in=["owner", "coach"], athlete=None),
                name="invitation_athlete_is_known",
            ),
            models.CheckConstraint(
                condition=Q(used_at=None, became=None) | Q(used_at__isnull=False, became__isnull=False),
                name="invitation_used_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"invitation as {self.role}"
