"""Everybody who may ask, as a browser or a program that asks: made once for a test, about one scene."""

import copy
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.test import Client
from django.utils import timezone

from athletes.access.links import SESSION_KEY
from athletes.models import Athlete, Membership, PrivateLink
from athletes.services.tablets import revoke_tablet
from athletes.services.tokens import make_token, revoke_token
from tests.factories.athletes import Role, make_athlete, make_consent, make_login, make_member
from tests.factories.skills import log, meet, start_class
from tests.helpers.api import Api, attempt_body
from tests.helpers.floor import ORIGIN, enrolled, held
from tests.security.table import Call

# What is written about who asks, and not about anybody's training: sessions, counts of tries, when a key was heard of.
OWN_TRACES = ("django_session", "usersessions_usersession", "gymtrack_cache", "athletes_tablet")
_WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE", "MERGE", "TRUNCATE", "DROP", "ALTER", "CREATE")


@contextmanager
def writes_told() -> Iterator[list[tuple[str, str]]]:
    """Collect the statements that write into tables of the gym, each with what it writes."""
    told: list[tuple[str, str]] = []

    def watch(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:  # noqa: FBT001
        if sql.lstrip().upper().startswith(_WRITES) and not any(f'"{table}"' in sql for table in OWN_TRACES):
            told.append((sql, str(params)))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield told


@contextmanager
def writes_seen() -> Iterator[list[str]]:
    """Collect the statements alone."""
    seen: list[str] = []
    with writes_told() as told:
        yield seen
    seen += [sql for sql, _ in told]


@contextmanager
def undone() -> Iterator[None]:
    """Undo the block, so that the next call finds the same scene."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@dataclass(frozen=True, slots=True)
class Scene:
    """Mia on the board with one attempt, and a step that waits for its sign-off."""

    ids: dict[str, Any]
    bodies: dict[str, Any]

    def call(self, api: Api, call: Call) -> Any:
        """Make a call of the table with a key."""
        address = call.address.format(**self.ids)
        if call.method == "get":
            return api.get(address)
        body = self.bodies.get(call.body, {})
        return api.delete(address) if call.method == "delete" else api.send(call.method, address, body)


def make_scene(coach: Membership, minor: Athlete) -> Scene:
    """Make it, in a gym with its library."""
    session = start_class(coach, minor)
    meet(coach, minor, "pullover-1", days_ago=3)
    meet(coach, minor, "pullover-3", days_ago=1)
    attempt = log(coach, minor, "pullover-1", 5.0, session=session)
    ids = {"athlete": minor.id, "session": session.id, "attempt": attempt.id, "new": uuid4()}
    gate: dict[str, object] = {"step": "pullover-3a", "gate": "entrance", "decision": "passed", "clearance": "spotted"}
    gate |= {"risk_notes_read": True}
    bodies = {
        "session": {"name": "Tuesday class"},
        "attempt": attempt_body(minor),
        "void": {"reason": "wrong athlete"},
        "sign_off": {"athlete": str(minor.id), **gate},
    }
    return Scene(ids, bodies)


class Asker:
    """Asks as one of the cast: with the cookies of a browser, or the headers of a program."""

    def __init__(self, client: Client, headers: dict[str, str] | None = None, *, member: Any = None) -> None:
        self.client, self.headers, self.member = client, headers or {}, member
        self._cookies = copy.deepcopy(client.cookies)

    def ask(self, method: str, address: str, sent: Any = None, *, as_json: bool = False) -> Any:
        """Ask once, from the same start."""
        self.client.cookies = copy.deepcopy(self._cookies)
        call = getattr(self.client, method)
        if as_json and method not in {"get", "head"}:
            return call(address, json.dumps(sent or {}), content_type="application/json", headers=self.headers)
        return (
            call(address, sent or {}, headers=self.headers) if method == "post" else call(address, headers=self.headers)
        )


def asker_of(request: pytest.FixtureRequest, who: str) -> Asker:
    """Return the one of that name; see table.py for who they are."""
    if who in _OTHERS:
        return _OTHERS[who](request)
    member = membership_of(request, who)
    return Asker(request.getfixturevalue("client_of")(member), member=member)


def membership_of(request: pytest.FixtureRequest, who: str) -> Any:
    """Return a member's membership, the account of who belongs nowhere."""
    if who == "other_athlete":
        return make_login(make_athlete(request.getfixturevalue("gym"), "Otto Berg"))
    if who == "other_owner":
        return make_member(request.getfixturevalue("other_gym"), Role.OWNER, "Oona Varga")
    return request.getfixturevalue(who)


def _by_link(request: pytest.FixtureRequest, *, expired: bool = False) -> Asker:
    minor: Athlete = request.getfixturevalue("minor")
    owner: Membership = request.getfixturevalue("owner")
    now = timezone.now()
    make_consent(minor, by=owner, kind="link")
    link = PrivateLink.objects.create(
        gym=minor.gym,
        athlete=minor,
        digest=uuid4().hex,
        made_by=owner,
        made_at=now - timedelta(days=9),
        until_at=now + timedelta(days=-1 if expired else 1),
    )
    client = Client()
    session = client.session
    session[SESSION_KEY] = str(link.pk)
    session.save()
    return Asker(client)


def _by_key(request: pytest.FixtureRequest, *, revoked: bool = False) -> Asker:
    owner: Membership = request.getfixturevalue("owner")
    made = make_token(by=owner, name=f"door {uuid4()}")
    if revoked:
        revoke_token(by=owner, token=made.token)
    return Asker(Client(), {"Authorization": f"Bearer {made.key}"})


def _by_tablet(request: pytest.FixtureRequest, *, hand_over: bool = True, revoked: bool = False) -> Asker:
    owner: Membership = request.getfixturevalue("owner")
    coach: Membership = request.getfixturevalue("coach")
    device = enrolled(owner, name=f"wall {uuid4()}").by(coach)
    if hand_over:
        held(device, coach)
    if revoked:
        revoke_tablet(by=owner, tablet=device.tablet)
    return Asker(Client(), {**device.headers, "Origin": ORIGIN})


_OTHERS: dict[str, Callable[[pytest.FixtureRequest], Asker]] = {
    "nobody": lambda _request: Asker(Client()),
    "link": _by_link,
    "expired_link": lambda request: _by_link(request, expired=True),
    "api_key": _by_key,
    "revoked_key": lambda request: _by_key(request, revoked=True),
    "unknown_key": lambda _request: Asker(Client(), {"Authorization": "Bearer no-such-key"}),
    "tablet": _by_tablet,
    "tablet_without_hand_over": lambda request: _by_tablet(request, hand_over=False),
    "revoked_tablet": lambda request: _by_tablet(request, revoked=True),
}
