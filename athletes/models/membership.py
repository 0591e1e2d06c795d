"""Roles and rights: what an account may do in a gym."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from athletes.models.account import Account
from athletes.models.athlete import Athlete
from athletes.models.gym import Gym
from athletes.models.person import Person
from athletes.models.rows import Fact, GymRow


class Membership(GymRow):
    """One account's role in one gym, with the rights that go with it. Ended, never deleted."""

    class Role(models.TextChoices):
        OWNER = "owner"
        COACH = "coach"
        ATHLETE = "athlete"
        GUARDIAN = "guardian"

    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=8, choices=Role.choices)
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, null=True, blank=True, related_name="memberships")
    may_log = models.BooleanField(default=False)
    may_sign_off = models.BooleanField(default=False)
    may_edit_skills = models.BooleanField(default=False)
    may_read_reports = models.BooleanField(default=False)
    # The skills, by slug, whose steps a coach with the right to sign off may sign off; None = every skill.
    sign_off_skills = models.JSONField(null=True, blank=True)
    started_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["gym", "account", "role"], condition=Q(ended_at=None), name="membership_role_once"
            ),
            models.CheckConstraint(
                condition=Q(role="athlete", athlete__isnull=False) | (~Q(role="athlete") & Q(athlete=None)),
                name="membership_athlete_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.role} {self.person}"

    def board_name(self, gym: Gym) -> str:
        """Return the name for a tablet in everybody's sight: who is known to be under age there stands by initials.

        `gym` is the membership's, which the caller has at hand.
        """
        person, today = self.person, timezone.localdate(timezone=gym.zone)
        is_minor = person.birth_on and person.is_minor(today, adult_age_years=gym.adult_age_years)
        return person.initials if is_minor else person.full_name

    @property
    def is_owner(self) -> bool:
        """Whether the role is owner."""
        return self.role == self.Role.OWNER

    @property
    def is_staff_member(self) -> bool:
        """Whether the role is owner or coach."""
        return self.role in {self.Role.OWNER, self.Role.COACH}


class Guardianship(GymRow):
    """A guardian's link to a minor."""

    guardian = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="wards")
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="guardianships")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["gym", "guardian", "athlete"], condition=Q(ended_at=None), name="guardianship_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.guardian} for {self.athlete}"


class RightsChange(Fact):
    """The rights of a coach or an owner from `happened_at` on: so that it can be told who held which right when."""

    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="rights_changes")
    rights = models.JSONField(default=list)
    sign_off_skills = models.JSONField(null=True, blank=True)  # as in the membership

    class Meta:
        indexes: ClassVar = [models.Index(fields=["gym", "membership", "happened_at"], name="rights_of_membership")]

    def __str__(self) -> str:
        return f"rights of {self.membership_id}: {', '.join(self.rights) or 'none'}"
