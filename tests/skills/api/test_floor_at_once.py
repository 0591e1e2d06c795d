"""Eight equal calls of tablets at the same instant, on the engine in use."""

from collections import Counter
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from django.db.models import Model

from athletes.models import Athlete, Gym, Membership
from athletes.services.audit import first_broken_link
from skills.models import Attempt, AttemptVoid, Attendance, FloorAct, TrainingSession
from tests.factories.skills import start_class
from tests.helpers.floor import Device, enrolled, held
from tests.helpers.floor_acts import act_of, envelope, hold_body
from tests.helpers.threads import at_once, database_for_threads

pytestmark = pytest.mark.django_db(transaction=True)
CALLS = 8


@pytest.fixture
def klass(coach: Membership, athlete: Athlete) -> TrainingSession:
    return start_class(coach, athlete)


@pytest.fixture
def device(owner: Membership, coach: Membership, klass: TrainingSession, tmp_path: Path) -> Iterator[Device]:
    made = enrolled(owner)
    held(made, coach)
    with database_for_threads(tmp_path):
        yield made


def _sent(device: Device, *acts) -> dict:
    answer = device.post("acts/", envelope(*acts))
    assert answer.status_code == 200, answer.content
    return answer.json()["receipts"]


def test_one_act_at_the_same_instant_is_one_row_and_one_receipt(device, klass, coach, athlete, gym: Gym) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    answers = at_once([partial(_sent, device, act)] * CALLS)
    assert answers == [answers[0]] * CALLS
    assert answers[0][0]["status"] == "stored"
    assert at_once([Attempt.objects.count, FloorAct.objects.count]) == [1, 1]
    assert at_once([partial(first_broken_link, gym)]) == [None]


def test_one_id_with_two_contents_at_the_same_instant_goes_to_one_of_them(device, klass, coach, athlete) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    other = {**act, "body": {**act["body"], "hold_tenths": 70}}
    answers = at_once([partial(_sent, device, each) for each in [act, other] * (CALLS // 2)])
    told = Counter(row.get("code", "stored") for (row,) in answers)
    assert told == {"stored": CALLS // 2, "taken": CALLS // 2}
    assert at_once([Attempt.objects.count, FloorAct.objects.count]) == [1, 1]


def test_a_whole_class_sent_by_eight_at_once_is_stored_once(device, coach, athlete) -> None:
    start = act_of("start", coach, {"name": "Class", "focus": None})
    guest = act_of("guest", coach, {"session": start["id"], "name": "Tom Reed", "is_minor": True})
    body = {"session": start["id"], "athlete": str(athlete.id)}
    attempt = act_of("attempt", coach, {**hold_body(TrainingSession(), athlete), **body})
    void = act_of("void", coach, {"attempt": attempt["id"], "reason": "wrong time"})
    acts = [start, guest, act_of("here", coach, body), attempt, void]
    answers = at_once([partial(_sent, device, *acts)] * CALLS)
    assert answers == [answers[0]] * CALLS
    assert [row["status"] for row in answers[0]] == ["stored"] * len(acts)
    tables: list[type[Model]] = [TrainingSession, Attendance, Attempt, AttemptVoid, FloorAct]
    assert at_once([table._default_manager.count for table in tables]) == [2, 3, 1, 1, len(acts)]


def test_eight_acts_for_one_athlete_at_the_same_instant_are_all_stored(device, klass, coach, athlete) -> None:
    acts = [act_of("attempt", coach, hold_body(klass, athlete)) for _ in range(CALLS)]
    answers = at_once([partial(_sent, device, act) for act in acts])
    assert [row["status"] for (row,) in answers] == ["stored"] * CALLS
    assert at_once([Attempt.objects.count]) == [CALLS]
