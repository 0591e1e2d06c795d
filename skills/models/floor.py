"""What a tablet sent, once and for all: by this an act that comes a second time is known, and its clock explained."""

from __future__ import annotations

from django.db import models

from athletes.models import Fact, HandOver


class FloorAct(Fact):
    """An act that a tablet sent and the server stored, under the id that the device made.

    `happened_at` is what the server made of the device's clock (`device_at`) by `offset_ms`, the server's clock minus
    the device's; `digest` is one of what was sent, under a key outside of the database, so that the same id with other
    content is told.
    """

    hand_over = models.ForeignKey(HandOver, on_delete=models.PROTECT, related_name="acts")
    kind = models.CharField(max_length=10)
    digest = models.CharField(max_length=64)
    device_at = models.DateTimeField()
    offset_ms = models.BigIntegerField()

    def __str__(self) -> str:
        return f"{self.kind} {self.id}"
