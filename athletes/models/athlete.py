"""The athlete: a person who practises in a gym."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from django.db import models
from django.utils import timezone

from athletes.core.consents import Standing, standing_on
from athletes.models.person import Person
from athletes.models.rows import GymRow


class Athlete(GymRow):
    """A person who practises. `number` stands large on the class board: two minors may share initials."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="athlete")
    number = models.PositiveIntegerField()
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)
    guest = models.BooleanField(default=False)  # came by for a class; stands on the roster with what a coach was told

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["gym", "number"], name="athlete_number_once")]

    def __str__(self) -> str:
        return f"{self.number} {self.person}"

    def is_minor(self, on: date | None = None) -> bool:
        """Whether the athlete is under age on that day, today in the gym's time zone by default."""
        day = on or timezone.now().astimezone(self.gym.zone).date()
        return self.person.is_minor(day, adult_age_years=self.gym.adult_age_years)

    def standing(self, on: date | None = None) -> Standing:
        """Return what the athlete decides for themselves on that day, today in the gym's time zone by default."""
        day = on or timezone.now().astimezone(self.gym.zone).date()
        return standing_on(
            self.person.birth_on,
            day,
            adult_age_years=self.gym.adult_age_years,
            own_data_age_years=self.gym.own_data_age_years,
        )

    @property
    def board_name(self) -> str:
        """The name for staff pages: minors stand by initials. In everybody's sight `shown_names` decides."""
        return self.person.initials if self.is_minor() else self.person.full_name


class BodyMeasure(GymRow):
    """A body as measured on a day, standing in bare feet. Of minors no mass is taken, and none is shown.

    Heights are above the floor: the chest at the nipples, the armpit, and the middle of the grip with both arms
    stretched overhead.
    """

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="measures")
    measured_on = models.DateField()
    stature_m = models.DecimalField(max_digits=4, decimal_places=3, null=True, blank=True)
    mass_kg = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    chest_m = models.DecimalField(max_digits=4, decimal_places=3, null=True, blank=True)
    armpit_m = models.DecimalField(max_digits=4, decimal_places=3, null=True, blank=True)
    reach_m = models.DecimalField(max_digits=4, decimal_places=3, null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["measured_on"]

    def __str__(self) -> str:
        return f"measured on {self.measured_on}"
