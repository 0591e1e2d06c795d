"""Calling the API as a program does: a key, JSON, no cookie."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from athletes.models import Athlete, Membership
from athletes.services.tokens import make_token
from gymtrack.lib.ids import new_id

PROBLEM = "application/problem+json"


@dataclass(frozen=True, slots=True)
class Api:
    """A program with a key; '' for none."""

    key: str = ""

    def get(self, address: str, **query: Any) -> Any:
        return Client().get(f"/api/v1/{address}", query, headers=self._headers)

    def put(self, address: str, body: Any = None) -> Any:
        return self.send("put", address, body)

    def post(self, address: str, body: Any = None) -> Any:
        return self.send("post", address, body)

    def delete(self, address: str) -> Any:
        return Client().delete(f"/api/v1/{address}", headers=self._headers)

    def send(self, method: str, address: str, body: Any = None) -> HttpResponse:
        """Send a body as JSON; bytes are sent as they are."""
        content = body if isinstance(body, bytes) else json.dumps({} if body is None else body).encode()
        send = getattr(Client(), method)
        answer: HttpResponse = send(
            f"/api/v1/{address}", content, content_type="application/json", headers=self._headers
        )
        return answer

    @property
    def _headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.key}"} if self.key else {}


def api_of(member: Membership) -> Api:
    return Api(make_token(by=member, name=f"tablet {new_id()}").key)


def attempt_body(athlete: Athlete | UUID, code: str = "pullover-1", **more: Any) -> dict[str, Any]:
    """A clean judged hold of 5 s just now, unless told otherwise; None leaves a field out."""
    body = {
        "athlete": str(athlete.id if isinstance(athlete, Athlete) else athlete),
        "step": code,
        "happened_at": timezone.now().isoformat(),
        "source": "judged",
        "hold_seconds": "5.0",
        **more,
    }
    return {name: value for name, value in body.items() if value is not None}


def places(answer: Any) -> dict[str, str]:
    """The sentences of a 422, by place."""
    assert (answer.status_code, answer.headers["Content-Type"]) == (422, PROBLEM), answer.content
    return {error["place"]: error["sentence"] for error in answer.json()["errors"]}


def utc(moment: datetime) -> str:
    """A moment as the API tells it."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
