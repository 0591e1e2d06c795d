"""Time alone changes a state: a microsecond on either side of each kind of change, on every surface that tells it.

Whoever asks whether an older answer still holds (If-None-Match, If-Modified-Since) is told anew, never 304.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.test import Client

from athletes.models import Account, Athlete, Gym, Membership
from skills.core.criteria import canonical, parse
from skills.models import Attendance, CriterionVersion, Step, TrainingSession
from skills.services.cautions import enter_caution
from skills.services.criteria import adopt_criterion
from skills.services.library import touch_rules
from skills.services.sessions import choose_step
from tests.factories.skills import library, log, page_of, start_class, step_of
from tests.helpers.api import Api, api_of, utc

STEP = "pullover-1"
NOW = datetime(2026, 3, 10, 17, tzinfo=UTC)  # six in the evening in Berlin
MICROSECOND = timedelta(microseconds=1)
STALE = {"If-None-Match": '"told-before", *', "If-Modified-Since": "Wed, 01 Jan 2031 00:00:00 GMT"}


@dataclass
class World:
    """A class that goes on, in which Ada works on one step, and everybody who may look at it."""

    client_of: Callable[[Membership | Account], Client]
    owner: Membership
    coach: Membership
    athlete: Athlete
    login: Membership
    api: Api
    session: TrainingSession

    def told(self, moment: datetime) -> dict[str, Any]:
        """The state at a moment, as each surface tells it."""
        with time_machine.travel(moment, tick=False):
            coach = self.client_of(self.coach)
            [tile] = _fresh(coach, f"/sessions/{self.session.id}/").context["tiles"]
            queue = _fresh(coach, "/sign-offs/").context["rows"]
            progress = _fresh(self.client_of(self.login), "/progress/").context["progress"]
            states = _fresh(Client(), f"/api/v1/athletes/{self.athlete.id}/states/", **self.api._headers).json()
        step = next(row for row in states["steps"] if row["step"] == STEP)
        paths = {row.page.code: row.now.state for row in progress.path}
        own = progress.next.standing.now.state if progress.next.whole.page.code == STEP else paths[STEP]
        return {
            "tile": tile.state,
            "page": own,
            "api": step["state"],
            "waits": [row["athlete"] for row in queue] == [self.athlete],
            "next": step["next_change_at"],
        }


def _fresh(client: Client, address: str, **headers: str) -> Any:
    """Get a page as whoever holds an older answer asks for it."""
    answer = client.get(address, headers={**STALE, **headers})
    assert answer.status_code == 200
    assert "no-store" in answer.headers["Cache-Control"]
    assert "ETag" not in answer.headers
    assert "Last-Modified" not in answer.headers
    return answer


@pytest.fixture
def world(
    client_of: Callable[[Membership | Account], Client],
    owner: Membership,
    coach: Membership,
    athlete: Athlete,
    athlete_member: Membership,
) -> World:
    with time_machine.travel(NOW, tick=False):
        library(owner.gym, owner)
        session = start_class(coach, athlete)
        choose_step(by=coach, attendance=Attendance.objects.get(athlete=athlete), step=step_of(owner.gym, STEP))
        return World(client_of, owner, coach, athlete, athlete_member, api_of(coach), session)


def _asks(world: World, **rule: Any) -> None:
    adopt_criterion(by=world.owner, step=page_of(world.owner.gym, STEP), criterion=parse(rule))


def _window_ends(world: World) -> None:
    """A hold of the 10th leaves a window of two days with the 12th, and a coach has not decided."""
    Step.objects.filter(gym=world.owner.gym, code=STEP).update(needs_sign_off=True)
    touch_rules(Gym.objects.get(pk=world.owner.gym_id))
    _asks(world, holds={"count": 1, "seconds": 5, "window_days": 2})
    log(world.coach, world.athlete, STEP, 5.0, at=NOW)


def _recheck_falls_due(world: World) -> None:
    """Shown on the 10th of March, due 28 days later; the clocks have changed by then."""
    _asks(world, best={"seconds": 5})
    log(world.coach, world.athlete, STEP, 5.0, at=NOW)


def _caution_ends(world: World) -> None:
    until_at = datetime(2026, 3, 13, 8, 30, 0, 123456, UTC)
    _caution(world, NOW, until_at)


def _caution_begins(world: World) -> None:
    _caution(world, datetime(2026, 3, 11, 6, 0, 0, 7, UTC), None)


def _caution(world: World, from_at: datetime, until_at: datetime | None) -> None:
    loads = frozenset({"hanging"})
    enter_caution(
        by=world.coach, athlete=world.athlete, loads=loads, from_at=from_at, until_at=until_at, reason="sore wrist"
    )


def _criterion_begins(world: World) -> None:
    """An easier criterion that is in force from the day after tomorrow on."""
    log(world.coach, world.athlete, STEP, 5.0, at=NOW)
    gym = Gym.objects.get(pk=world.owner.gym_id)
    begins = datetime(2026, 3, 12, 12, tzinfo=UTC)
    tree = canonical(parse({"best": {"seconds": 5}}))
    CriterionVersion.objects.create(
        gym=gym, step=step_of(gym, STEP), number=2, tree=tree, adopted_by=world.owner, happened_at=begins
    )
    touch_rules(gym)
    call_command("rebuild")


def _clock_runs_ahead(world: World) -> None:
    """The tablet's clock is four minutes ahead of the server's: the hold counts from its own moment on."""
    _asks(world, best={"seconds": 5})
    log(world.coach, world.athlete, STEP, 5.0, at=NOW + timedelta(minutes=4))


@pytest.mark.parametrize(
    ("prepare", "moment", "before", "after"),
    [
        (_window_ends, "2026-03-11T23:00:00", "ready", "working"),
        (_recheck_falls_due, "2026-04-06T22:00:00", "passed", "recheck"),
        (_caution_ends, "2026-03-13T08:30:00.123456", "paused", "working"),
        (_caution_begins, "2026-03-11T06:00:00.000007", "working", "paused"),
        (_criterion_begins, "2026-03-12T12:00:00", "working", "passed"),
        (_clock_runs_ahead, "2026-03-10T17:04:00", "working", "passed"),
    ],
)
def test_every_surface_changes_in_the_microsecond_of_the_change(
    world: World, prepare: Callable[[World], None], moment: str, before: str, after: str
) -> None:
    with time_machine.travel(NOW, tick=False):
        prepare(world)
    change = datetime.fromisoformat(moment).replace(tzinfo=UTC)
    told, then = world.told(change - MICROSECOND), world.told(change)
    assert told == {"tile": before, "page": before, "api": before, "waits": before == "ready", "next": utc(change)}
    assert then | {"next": None} == {"tile": after, "page": after, "api": after, "waits": False, "next": None}
    assert then["next"] is None or then["next"] > utc(change)
