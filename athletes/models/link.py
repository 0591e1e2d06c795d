"""Private links: an athlete's own page without an account."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from athletes.models.athlete import Athlete
from athletes.models.membership import Membership
from athletes.models.rows import GymRow


class PrivateLink(GymRow):
    """A link to one athlete's own progress, for who holds it, until it runs out or is taken back.

    Only the digest of its token is kept.
    """

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="private_links")
    digest = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    until_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)  # the last time

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "athlete"], name="private_link_of_athlete")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(until_at__gt=models.F("made_at")), name="private_link_lasts")
        ]

    def __str__(self) -> str:
        return f"private link of {self.athlete_id}"
