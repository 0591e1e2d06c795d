"""Tablets of the gym floor, the codes by which coaches say who holds one, and who held it when."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.models.membership import Membership
from athletes.models.rows import GymRow


class Tablet(GymRow):
    """A device that an owner let onto the gym floor.

    It waits until somebody types its enrolment code on the device; from then on it has a key of its own, of which
    only the digest is kept, until it is revoked.
    """

    name = models.CharField(max_length=60)
    let_in_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    code_digest = models.CharField(max_length=64, blank=True)  # '' once it was used
    code_until_at = models.DateTimeField(null=True, blank=True)
    key_digest = models.CharField(max_length=64, null=True, blank=True, unique=True)
    enrolled_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField(null=True, blank=True)
    # The server's clock minus the device's, as found at the last contact.
    offset_ms = models.BigIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class CoachCode(GymRow):
    """The short code of one coach. On an enrolled tablet it says who takes over; anywhere else it opens nothing."""

    membership = models.OneToOneField(Membership, on_delete=models.PROTECT, related_name="coach_code")
    digest = models.CharField(max_length=128)
    set_at = models.DateTimeField()
    failures = models.PositiveSmallIntegerField(default=0)
    locked_until_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"code of {self.membership_id}"


class HandOver(GymRow):
    """A coach holds a tablet, from the moment when the server accepted the code until it ends or runs out.

    `claimed_at` is when the coach took over where that was before, without a network. The id is made on the device.
    """

    tablet = models.ForeignKey(Tablet, on_delete=models.PROTECT, related_name="hand_overs")
    coach = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="hand_overs")
    claimed_at = models.DateTimeField(null=True, blank=True)
    confirmed_at = models.DateTimeField()
    until_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "tablet", "coach", "until_at"], name="hand_over_in_force")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(until_at__gt=models.F("confirmed_at")), name="hand_over_lasts"),
        ]

    def __str__(self) -> str:
        return f"{self.coach_id} holds {self.tablet_id}"
