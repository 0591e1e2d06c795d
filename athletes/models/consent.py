"""Consents: what an athlete, or a guardian for a minor, agreed to."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from athletes.core.consents import WORDS
from athletes.models.athlete import Athlete
from athletes.models.membership import Membership
from athletes.models.rows import Fact


class Consent(Fact):
    """A consent given or withdrawn; of the same kind for the same athlete the latest holds."""

    class Kind(models.TextChoices):
        SPOTTING = "spotting", WORDS["spotting"]
        INVERSION = "inversion", WORDS["inversion"]
        BOARD = "board", WORDS["board"]
        REPORTS = "reports", WORDS["reports"]
        LINK = "link", WORDS["link"]
        LOGIN = "login", WORDS["login"]

    class Extent(models.TextChoices):
        """How somebody is shown on a board in everybody's sight: the limit of a consent to be shown there."""

        FULL_NAME = "full_name", "full name"
        INITIALS = "initials", "initials"
        NUMBER = "number", "number alone"

    class SaidBy(models.TextChoices):
        ATHLETE = "athlete", "the athlete"
        GUARDIAN = "guardian", "a guardian"

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="consents")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    given = models.BooleanField()
    extent = models.CharField(max_length=9, choices=Extent.choices, blank=True)  # of the kind "board" alone
    said_by = models.CharField(max_length=8, choices=SaidBy.choices)
    entered_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "athlete", "kind"], name="consent_of_athlete")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(extent="") | Q(kind="board", given=True), name="consent_extent_of_board")
        ]

    def __str__(self) -> str:
        return f"{self.kind} for {self.athlete_id}: {'given' if self.given else 'withdrawn'}"
