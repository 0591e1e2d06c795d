"""Who can see what, and what somebody can do about the data kept about them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING
from uuid import UUID

from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import access_athlete, athletes_in_sight
from athletes.access.rules import (
    ATHLETE,
    EVERYBODY,
    GUARDIAN,
    LinkRequest,
    MemberRequest,
    allow,
    allow_link,
    open_to_all,
)
from athletes.core.kept import GROUPS, OUTSIDE, Erasing, Kept
from athletes.models import Gym
from athletes.queries.sight import sight_of
from gymtrack.lib.http import redirect_to, render_page

if TYPE_CHECKING:
    from athletes.models import Athlete


@require_safe
@allow(*EVERYBODY)
def my_data(request: MemberRequest) -> HttpResponseBase:
    """Say where everything stands that can be done about the data kept about oneself, or about a ward."""
    member = request.member
    athletes = [] if member.is_staff_member else list(athletes_in_sight(member).order_by("number"))
    context = {"own": member.role == ATHLETE, "athletes": athletes, "as_guardian": member.role == GUARDIAN}
    return render_page(request, "athletes/my_data.html", context)


@require_safe
@allow_link
def who_sees(request: LinkRequest) -> HttpResponseBase:
    """Say who can see what about oneself, also to who holds a private link; a guardian chooses a ward."""
    if request.link:
        return _sight(request, request.link.athlete)
    member = request.member
    if member is None or member.role == GUARDIAN:
        return redirect_to("my_data")
    return _sight(request, athletes_in_sight(member).get())


@require_safe
@allow(ATHLETE, GUARDIAN)
def who_sees_of(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Say who can see what about somebody in sight: a guardian's ward, or oneself."""
    return _sight(request, access_athlete(request.member, athlete_id))


@require_safe
@open_to_all
def kept(request: HttpRequest) -> HttpResponseBase:
    """Say to everybody what is kept about whom, for how long and why; by the gym's own settings where it is known."""
    gym = _gym(request)
    of_gym = gym or Gym()
    context = {"of_gym": of_gym, "known_gym": gym, "groups": _groups(of_gym)}
    return render_page(request, "athletes/kept.html", context)


def _groups(gym: Gym) -> list[tuple[str, list[tuple[str, list[Kept]]]]]:
    """Return what is kept under a title each, and below it together what is kept as long, by that gym's settings."""
    periods = {"months": gym.keep_months_after_leaving, "pain_days": gym.keep_pain_notes_days}
    groups = []
    for title, lines in (
        *((title, [*lines.values()]) for title, lines in GROUPS),
        ("Outside of the database", OUTSIDE),
    ):
        as_long: dict[str, list[Kept]] = {}
        for line in lines:
            as_long.setdefault(_ending(line, periods), []).append(line)
        groups.append((title, [*as_long.items()]))
    return groups


def _ending(line: Kept, periods: Mapping[str, int]) -> str:
    erased = "" if line.erasing is Erasing.NONE else f" On erasure: {line.erasing.value}."
    return f"Kept {line.told_how_long(**periods)}.{erased}"


def _gym(request: HttpRequest) -> Gym | None:
    member, link = request.member, request.link  # type: ignore[attr-defined]
    holder = member or link
    return holder.gym if holder else None


def _sight(request: HttpRequest, athlete: Athlete) -> HttpResponseBase:
    member = request.member  # type: ignore[attr-defined]
    context = {
        "athlete": athlete,
        "own": member is not None and member.athlete_id == athlete.id,
        "sight": sight_of(athlete, timezone.now()),
        "gym": athlete.gym,
    }
    return render_page(request, "athletes/who_sees.html", context)
