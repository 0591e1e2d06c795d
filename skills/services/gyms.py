"""Changing a gym's settings, with the readiness that follows: another time zone has other days."""

from __future__ import annotations

from typing import Unpack

from django.db import transaction
from django.utils import timezone

from athletes.models import Gym, Membership
from athletes.queries.gyms import athlete_ids
from athletes.services import gyms
from skills.queries.books import book_of
from skills.services.readiness import lock_athlete, rebuild_athlete


def change_gym(*, member: Membership, name: str, time_zone: str, units: str, **choices: Unpack[gyms.GymChoices]) -> Gym:
    """Change the member's gym; with another time zone, compute every athlete's timelines again in the same act."""
    with transaction.atomic():
        stamp_before = Gym.objects.select_for_update(no_key=True).get(pk=member.gym_id).rules_stamp
        gym = gyms.change_gym(member=member, name=name, time_zone=time_zone, units=units, **choices)
        if gym.rules_stamp != stamp_before:
            rebuild_gym(gym)
    return gym


def rebuild_gym(gym: Gym) -> None:
    """Compute the kept timelines of all athletes again, after a change of the rules or of the days."""
    for athlete_id in athlete_ids(gym):
        athlete = lock_athlete(athlete_id)
        rebuild_athlete(book=book_of(athlete.gym), athlete=athlete, now=timezone.now(), store=True)
