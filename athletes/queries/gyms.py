"""Gyms, for commands: pages know theirs by who is signed in."""

from __future__ import annotations

from uuid import UUID

from athletes.models import Athlete, Gym, Membership


def gym_by_slug(slug: str) -> Gym | None:
    """Return the gym with that short name."""
    return Gym.objects.filter(slug=slug).first()


def gym_slugs() -> list[str]:
    """Return the short names of all gyms of this installation."""
    return list(Gym.objects.order_by("slug").values_list("slug", flat=True))


def all_gyms() -> list[Gym]:
    """Return all gyms, for commands of the administrator."""
    return list(Gym.objects.order_by("slug"))


def athlete_ids(gym: Gym) -> list[UUID]:
    """Return the ids of a gym's athletes, in the order of their numbers."""
    return list(Athlete.objects.filter(gym=gym).order_by("number").values_list("id", flat=True))


def staff_named(gym: Gym, email: str) -> Membership | None:
    """Return the coach or owner of a gym with that address; the first owner for no address; None for nobody."""
    staff = Membership.objects.filter(gym=gym, ended_at=None, role__in=["owner", "coach"]).select_related(
        "gym", "person"
    )
    if email:
        return staff.filter(account__email__iexact=email).first()
    return staff.filter(role="owner").order_by("started_at").first()
