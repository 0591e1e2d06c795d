"""The OpenAPI document: whole, true, and nothing that it allows breaks the server."""

import io
import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from hypothesis import HealthCheck, settings
from schemathesis import Case
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import content_type_conformance, response_schema_conformance

from athletes.models import Athlete, Membership
from gymtrack.wsgi import application
from skills.api.floor_acts import BODIES
from skills.api.urls import urlpatterns
from tests.factories.skills import meet, start_class
from tests.helpers.api import PROBLEM, api_of
from tests.helpers.floor import CODE, enrolled, held

# Read here, without a database or a key: a fixture would come too late for the parametrization.
DOCUMENT = schemathesis.openapi.from_wsgi("/api/v1/schema/?format=json", application)


def document() -> dict[str, Any]:
    answer = Client().get("/api/v1/schema/?format=json")
    assert answer.status_code == 200
    found: dict[str, Any] = json.loads(answer.content)
    return found


def operations() -> dict[str, dict[str, Any]]:
    return {
        f"{method} {path.removeprefix('/api/v1/')}": operation
        for path, methods in document()["paths"].items()
        for method, operation in methods.items()
    }


def test_the_document_is_valid_and_nothing_in_it_is_guessed() -> None:
    call_command("spectacular", "--validate", "--fail-on-warn", stdout=io.StringIO())


@pytest.mark.parametrize(("query", "media"), [("?format=json", "json"), ("", "yaml"), ("?format=yaml", "yaml")])
def test_it_comes_as_json_and_as_yaml_without_a_key(query: str, media: str) -> None:
    answer = Client().get(f"/api/v1/schema/{query}")
    assert answer.status_code == 200
    assert ("json" in answer.headers["Content-Type"]) == (media == "json")
    assert answer.content.startswith(b"{" if media == "json" else b"openapi: 3")


def test_it_knows_every_route() -> None:
    assert len(document()["paths"]) == len([p for p in urlpatterns if p.name not in {"api_schema", "api_nowhere"}])


def test_errors_are_documented_as_problems() -> None:
    told = {
        name: {int(status) for status, answer in operation["responses"].items() if PROBLEM in answer.get("content", {})}
        for name, operation in operations().items()
    }
    assert told["get athletes/"] == {401, 403, 422}
    assert told["get athletes/{athlete_id}/"] == {401, 403, 404}
    assert told["put attempts/{attempt_id}/"] == {400, 401, 403, 404, 409, 413, 415, 422}
    assert told["post sign-offs/"] == {400, 401, 403, 413, 415, 422}
    assert all({401, 403} <= statuses for statuses in told.values())


def test_a_key_is_asked_for_everywhere() -> None:
    assert document()["components"]["securitySchemes"]["key"]["scheme"] == "bearer"
    asked = {name: operation.get("security") for name, operation in operations().items()}
    assert asked.pop("post floor/enrol/") is None  # by a code, for a key
    wrong = [name for name, keys in asked.items() if keys != [{"tablet" if " floor/" in name else "key": []}]]
    assert wrong == []


def test_a_body_with_other_fields_is_documented_as_refused() -> None:
    bodies = [operation["requestBody"] for operation in operations().values() if "requestBody" in operation]
    names = {body["content"]["application/json"]["schema"]["$ref"].rsplit("/")[-1] for body in bodies}
    assert names >= {"AttemptBody", "SessionBody", "SignOffBody", "VoidBody", "EnrolBody", "HandOverBody", "LeaveBody"}
    schemas = document()["components"]["schemas"]
    assert all(schemas[name]["additionalProperties"] is False for name in names)


def test_what_a_tablet_may_send_is_documented_by_its_kind() -> None:
    schemas = document()["components"]["schemas"]
    told = {each["$ref"].rsplit("/")[-1] for each in schemas["FloorActBody"]["oneOf"]}
    assert told == {body.__name__ for body in BODIES.values()}
    assert schemas["ActBody"]["properties"]["body"]["$ref"] == "#/components/schemas/FloorActBody"


def test_what_a_tablet_may_be_answered_is_documented() -> None:
    told = {name: {*operation["responses"]} for name, operation in operations().items()}
    assert "429" in told["post floor/enrol/"]
    assert "409" in told["post floor/hand-over/"]
    assert "304" in told["get floor/today/"] & told["get floor/sessions/{session_id}/"]


@pytest.fixture
def home(owner: Membership, athlete: Athlete, minor: Athlete) -> dict[str, Any]:
    """Names of what there is, in a gym where something has happened, the owner's key and a tablet's."""
    session = start_class(owner, athlete, minor)
    *_, attempt = meet(owner, athlete, "pullover-1", days_ago=1)
    path = {"athlete_id": str(athlete.id), "session_id": str(session.id), "attempt_id": str(attempt.id)}
    path |= {"slug": "bar-pullover", "month": "2026-01"}
    body = {"athlete": str(athlete.id), "step": "pullover-1", "coach": str(owner.id), "code": CODE}
    tablet = enrolled(owner)
    held(tablet, owner)
    # The client that deals the calls does not unpack what it is sent.
    floor = tablet.by(owner).headers | {"Origin": "http://localhost", "Accept-Encoding": "identity"}
    return {"floor": floor, "key": {"Authorization": f"Bearer {api_of(owner).key}"}, "path": path, "body": body}


def led_home(case: Case, home: dict[str, Any]) -> Case:
    """The same call with names of what there is, which comes further than random ones."""
    case.path_parameters = {name: home["path"].get(name, value) for name, value in case.path_parameters.items()}
    if isinstance(case.body, dict):
        case.body = {name: home["body"].get(name, value) for name, value in case.body.items()}
    return case


@pytest.fixture
def _connection_stays() -> Iterator[None]:
    """Leave the test's connection open between requests, as Django's own test client does."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.mark.usefixtures("_connection_stays")
@DOCUMENT.parametrize()
@settings(
    max_examples=5,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.filter_too_much],
)
def test_whatever_is_sent_the_answer_is_as_documented(case: Case, home: dict[str, Any]) -> None:
    headers = home["floor" if "/floor/" in case.path else "key"]
    checks = [not_a_server_error, content_type_conformance, response_schema_conformance]
    case.validate_response(case.call(headers=headers), checks=checks)
    led = led_home(case, home)
    led.validate_response(led.call(headers=headers), checks=checks)
