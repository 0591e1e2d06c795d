"""Acts as a tablet makes and sends them."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from athletes.models import Athlete, Membership
from gymtrack.lib.ids import new_id
from skills.models import FloorAct, TrainingSession
from tests.factories.skills import page_of
from tests.helpers.floor import Device

LIFE = "0190f3a4-0000-7000-8000-00000000000a"
HOUR = timedelta(hours=1)


def iso(moment: datetime) -> str:
    return moment.isoformat(timespec="milliseconds")


def act_of(
    kind: str,
    coach: Membership | UUID,
    body: dict[str, Any],
    *,
    ago: timedelta = timedelta(0),
    ahead: timedelta = timedelta(0),
    act_id: UUID | str | None = None,
    **more: Any,
) -> dict[str, Any]:
    """An act of `ago`, of a device whose clock is `ahead`."""
    coach_id = coach.id if isinstance(coach, Membership) else coach
    act = {
        "id": str(act_id or new_id()),
        "kind": kind,
        "coach": str(coach_id),
        "device_at": iso(timezone.now() + ahead - ago),
        "offset_ms": -ahead // timedelta(milliseconds=1),
        "life": LIFE,
        "mono_ms": max(0, (20 * HOUR - ago) / timedelta(milliseconds=1)),
        "body": {key: str(value) if isinstance(value, UUID) else value for key, value in body.items()},
    }
    return {**act, **more}


def hold_body(session: TrainingSession, athlete: Athlete, code: str = "pullover-1", **more: Any) -> dict[str, Any]:
    """A clean judged hold of 5 s."""
    body = {
        "session": str(session.id),
        "athlete": str(athlete.id),
        "step": str(page_of(athlete.gym, code).id),
        "closed_reason": "",
        "note": "",
        "doubt": "",
        **result_body(),
    }
    return {**body, **more}


def result_body(**more: Any) -> dict[str, Any]:
    result = {
        "source": "judged",
        "hold_tenths": 50,
        "reps": 1,
        "unbroken": True,
        "assistance": "none",
        "variant": "",
        "faults": [],
        "missed": [],
        "effort": None,
        "pain": False,
        "grade": 0,
        "angle_degrees": None,
    }
    return {**result, **more}


def envelope(*acts: Any, ahead: timedelta = timedelta(0)) -> dict[str, Any]:
    """What is sent now; the page was loaded twenty hours ago."""
    mono_ms = 20 * HOUR / timedelta(milliseconds=1)
    return {"sent_at": iso(timezone.now() + ahead), "life": LIFE, "mono_ms": mono_ms, "acts": [*acts]}


def send(device: Device, *acts: Any, ahead: timedelta = timedelta(0)) -> Any:
    """The answer to a batch."""
    answer = device.post("acts/", envelope(*acts, ahead=ahead))
    assert answer.status_code == 200, answer.content
    return answer.json()


def receipts(device: Device, *acts: Any, **more: Any) -> list[dict[str, Any]]:
    return send(device, *acts, **more)["receipts"]


def receipt(device: Device, act: Any) -> dict[str, Any]:
    (one,) = receipts(device, act)
    return one


def refused(device: Device, act: dict[str, Any], code: str) -> str:
    """The sentence of a refusal; nothing of the act is stored."""
    before = FloorAct.objects.count()
    answer = receipt(device, act)
    assert (answer["status"], answer["code"], answer["id"]) == ("refused", code, act["id"]), answer
    assert FloorAct.objects.count() == before
    return answer["reason"]


def step(athlete: Athlete, code: str = "pullover-1") -> str:
    return str(page_of(athlete.gym, code).id)
