"""The gym: the tenant."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import models

from athletes.core.zones import zone_named, zone_names
from gymtrack.lib.ids import new_id


def known_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA time zone database."""
    if name not in zone_names():
        message = f"{name!r} is no IANA time zone; write it like Europe/Lisbon."
        raise ValidationError(message)


class Gym(models.Model):
    """A gym with its time zone, which decides its days and months, and its units on pages."""

    class Units(models.TextChoices):
        METRIC = "metric", "metric (m, kg)"
        IMPERIAL = "imperial", "imperial (ft, in, lb)"

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=60, validators=[known_time_zone])
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.METRIC)
    adult_age_years = models.PositiveSmallIntegerField(default=18)
    # Without consent to it, nobody is at an inverted step or one cleared "spotted", nor passed there. A gym from before
    # consents were kept goes on without until its owner says otherwise.
    asks_consent = models.BooleanField(default=False)
    # From this age on a minor decides about their own data (a private link, their name on the board and in
    # reports); a guardian does before. What is done with their body stays the guardian's to decide until they are of
    # age. GDPR art. 8(1): 16, and member states may say 13 to 15; 13 in the COPPA rule (16 CFR 312).
    own_data_age_years = models.PositiveSmallIntegerField(default=16)
    staff_need_second_factor = models.BooleanField(default=False)
    # How long things are kept. Notes about pain are health data and go first.
    keep_months_after_leaving = models.PositiveSmallIntegerField(default=12)
    keep_pain_notes_days = models.PositiveSmallIntegerField(default=90)
    made_at = models.DateTimeField(auto_now_add=True)
    # A new id whenever a step or a criterion of the gym changes: what was derived from the old ones is stale then.
    rules_stamp = models.UUIDField(default=new_id, editable=False)

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        """The gym's time zone."""
        return zone_named(self.time_zone)
