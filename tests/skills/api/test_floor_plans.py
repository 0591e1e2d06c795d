"""A class with a plan on a tablet: the plan travels with the board, and a tap on its clock is an act like any other."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from athletes.models import Athlete, Gym, Membership
from skills.models import RotationMark, TrainingSession
from skills.services.class_runs import mark_rotation
from skills.services.sessions import end_session
from tests.factories.class_plans import make_hall
from tests.factories.class_runs import Turns, keep_plan
from tests.factories.skills import library, page_of, start_class
from tests.helpers.floor import Device, enrolled, held
from tests.helpers.floor_acts import act_of, receipt

pytestmark = pytest.mark.django_db


@pytest.fixture
def device(gym: Gym, owner: Membership, coach: Membership) -> Device:
    library(gym)
    tablet = enrolled(owner)
    held(tablet, coach)
    return tablet.by(coach)


@pytest.fixture
def klass(device: Device, coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    """Ada and Mia, two rotations of ten minutes after five; Mia has no place in the second one."""
    session = start_class(coach, athlete, minor)
    told: Turns = {
        athlete: [("pullover-1", "floor", None), ("pullover-2", "low", 7)],
        minor: [("pullover-1", "low", 5), None],
    }
    keep_plan(coach, session, told, make_hall(coach.gym))
    return session


@pytest.fixture
def board(device: Device, klass: TrainingSession) -> Callable[[], dict[str, Any]]:
    return lambda: dict(device.get(f"sessions/{klass.id}/").json())


def test_the_plan_comes_with_the_board_with_all_of_its_times(board, athlete: Athlete, minor: Athlete) -> None:
    plan = board()["plan"]
    first, second, end = (datetime.fromisoformat(turn["at"]) for turn in plan["turns"])
    assert (second - first, end - second) == (timedelta(minutes=10), timedelta(minutes=10))
    assert [turn["rotation"] for turn in plan["turns"]] == [0, 1, 2]
    assert (plan["number"], plan["rotation"], plan["minutes"]) == (1, -1, [10, 10])
    one, two = (str(page_of(athlete.gym, code).id) for code in ("pullover-1", "pullover-2"))
    assert plan["people"] == {
        str(athlete.id): [{"place": "floor", "step": one}, {"place": "low bar, hole 7", "step": two}],
        str(minor.id): [{"place": "low bar, hole 5", "step": one}, None],
    }
    assert plan["sets"][1] == ["Re-set low bar from hole 5 to hole 7 (about 3 minutes), then look it over"]


def test_a_class_without_a_plan_has_none(device: Device, coach: Membership, athlete: Athlete) -> None:
    session = start_class(coach, athlete)
    assert device.get(f"sessions/{session.id}/").json()["plan"] is None


def test_the_step_in_hand_is_the_rotations(board, coach: Membership, klass: TrainingSession, athlete: Athlete) -> None:
    mark_rotation(by=coach, session=klass, rotation=1)
    told = board()
    assert told["plan"]["rotation"] == 1
    assert told["tiles"][0]["step"] == str(page_of(athlete.gym, "pullover-2").id)


def test_a_tap_is_kept_once_at_its_own_moment(device: Device, coach: Membership, klass: TrainingSession, board) -> None:
    TrainingSession.objects.filter(pk=klass.pk).update(starts_at=klass.starts_at - timedelta(minutes=30))
    act = act_of("rotation", coach, {"session": klass.id, "rotation": 1}, ago=timedelta(minutes=4))
    assert receipt(device, act)["status"] == "stored"
    assert receipt(device, act)["status"] == "stored"
    mark = RotationMark.objects.get()
    assert (str(mark.id), mark.rotation) == (act["id"], 1)
    begins = datetime.fromisoformat(board()["plan"]["turns"][0]["at"])
    assert timedelta(minutes=3.9) < datetime.now(UTC) - begins < timedelta(minutes=4.5)


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ({"rotation": 3}, "The plan has 2 rotations"),
        ({"rotation": -1}, "rotation"),
        ({"rotation": "soon"}, "rotation"),
        ({}, "rotation"),
    ],
)
def test_what_is_no_rotation_is_refused_with_a_sentence(
    device: Device, coach: Membership, klass: TrainingSession, body: dict[str, Any], sentence: str
) -> None:
    answer = receipt(device, act_of("rotation", coach, {"session": klass.id, **body}))
    assert (answer["status"], answer["code"]) == ("refused", "mistakes")
    assert sentence in answer["reason"]
    assert not RotationMark.objects.exists()


def test_a_class_that_has_no_plan_or_has_ended_or_is_not_there_takes_no_tap(
    device: Device, coach: Membership, klass: TrainingSession, athlete: Athlete
) -> None:
    bare = start_class(coach, athlete, name="Open gym")
    answer = receipt(device, act_of("rotation", coach, {"session": bare.id, "rotation": 0}))
    assert (answer["code"], answer["reason"]) == ("mistakes", "This class has no plan: plan it first.")
    with time_machine.travel(datetime.now(UTC) - timedelta(minutes=2)):
        end_session(by=coach, session=klass)
    answer = receipt(device, act_of("rotation", coach, {"session": klass.id, "rotation": 0}))
    assert "ended" in answer["reason"]
    assert receipt(device, act_of("rotation", coach, {"session": uuid4(), "rotation": 0}))["code"] == "early"


def test_another_gyms_class_is_gone(device: Device, coach: Membership, other_coach: Membership) -> None:
    theirs = start_class(other_coach, name="Loft class")
    answer = receipt(device, act_of("rotation", coach, {"session": theirs.id, "rotation": 0}))
    assert answer["code"] == "gone"
