"""The two shapes that every table of a gym has: a row of the gym, and a fact that is never changed."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from gymtrack.lib.ids import new_id


class GymRow(models.Model):
    """A row that belongs to one gym.

    `gymtrack.lib.guards` makes it impossible in the database for such a row to point into another gym.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    gym = models.ForeignKey("athletes.Gym", on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True


class Fact(GymRow):
    """Something that happened: appended once, never changed and never deleted, in the database too.

    `happened_at` is the moment on the floor, `recorded_at` the one when the server learned of it.
    """

    append_only = True

    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True
