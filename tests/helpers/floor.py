"""An enrolled tablet as it calls: its key, JSON, the Origin of our own pages, the coach who holds it."""

import json
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.test import Client
from django.utils import timezone

from athletes.models import HandOver, Membership, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.hand_overs import take_over
from athletes.services.tablets import add_tablet, enrol_tablet
from gymtrack.lib.ids import new_id

ORIGIN = "http://testserver"
CODE = "402917"


@dataclass(frozen=True, slots=True)
class Device:
    """A tablet that calls with its key; `coach` goes into the header, None leaves it out."""

    tablet: Tablet
    key: str
    coach: UUID | None = None
    more: dict[str, str] = field(default_factory=dict)

    def by(self, coach: Membership) -> "Device":
        """The same tablet, naming that coach."""
        return Device(self.tablet, self.key, coach.id, self.more)

    def get(self, address: str, **headers: str) -> Any:
        return Client().get(f"/api/v1/floor/{address}", headers={**self.headers, **headers})

    def post(self, address: str, body: Any = None, **headers: str) -> Any:
        content = json.dumps({} if body is None else body)
        sent = {**self.headers, "Origin": ORIGIN, **headers}
        return Client().post(f"/api/v1/floor/{address}", content, content_type="application/json", headers=sent)

    @property
    def headers(self) -> dict[str, str]:
        coach = {} if self.coach is None else {"Coach": str(self.coach)}
        return {"Authorization": f"Tablet {self.key}", **coach, **self.more}


def enrolled(owner: Membership, *, name: str = "by the low bar") -> Device:
    """A tablet that the owner let in and somebody enrolled; nobody holds it yet."""
    added = add_tablet(by=owner, name=name)
    return Device(*enrol_tablet(code=added.code))


def held(device: Device, coach: Membership, *, code: str = CODE) -> HandOver:
    """Set a code for a coach, who then takes the tablet over."""
    set_code(by=coach, code=code)
    return take_over(tablet=device.tablet, hand_over_id=new_id(), coach_id=coach.id, code=code)


def hand_over_body(coach: Membership, *, code: str = CODE, **more: Any) -> dict[str, Any]:
    """What a tablet sends when a coach types a code."""
    return {"id": str(new_id()), "coach": str(coach.id), "code": code, "sent_at": timezone.now().isoformat(), **more}
