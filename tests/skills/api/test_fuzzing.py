"""Thousands of calls that the API's own document allows, and as many that it forbids, by whoever may send them.

No answer is a server's error, none is undocumented, and none holds anything of another gym.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import Case
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.core.transport import Response
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from athletes.models import Athlete, Gym, Membership
from tests.factories.athletes import Role, make_athlete, make_member
from tests.factories.skills import library, meet, start_class
from tests.helpers.api import api_of
from tests.helpers.floor import CODE, enrolled, held
from tests.plugins import measured
from tests.skills.api.test_schema import DOCUMENT, _connection_stays  # noqa: F401 (a fixture)

EXAMPLES: Final = 16
LEAST_CASES: Final = 1000  # of each sender; five senders make 5,000
CANARY: Final = "Zyxwvut"
CHECKS: Final = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
Names = Mapping[str, Mapping[str, Any]]


def names_of(owner: Membership, athlete: Athlete, month: str = "2026-01") -> dict[str, dict[str, Any]]:
    """What addresses and bodies may name in a gym where something has happened."""
    session = start_class(owner, athlete, name=f"Class of {athlete.person.full_name}")
    *_, attempt = meet(owner, athlete, "pullover-1", days_ago=1)
    path = {"athlete_id": str(athlete.id), "session_id": str(session.id), "attempt_id": str(attempt.id)}
    body = {"athlete": str(athlete.id), "step": "pullover-1", "coach": str(owner.id), "code": CODE}
    return {"path": path | {"slug": "bar-pullover", "month": month}, "body": body}


@pytest.fixture
def here(owner: Membership, athlete: Athlete) -> Names:
    library(owner.gym, owner)
    return names_of(owner, athlete)


@pytest.fixture
def elsewhere(other_gym: Gym) -> Names:
    """A gym in which every name is a canary."""
    stranger = make_member(other_gym, Role.OWNER, f"{CANARY} Owner")
    library(other_gym, stranger)
    return names_of(stranger, make_athlete(other_gym, f"{CANARY} Athlete"))


@pytest.fixture
def headers_of(
    request: pytest.FixtureRequest, owner: Membership
) -> Callable[[str], tuple[dict[str, str], dict[str, str]]]:
    """What a sender sends along to the API, and to the part of it that is the floor's."""

    def headers(who: str) -> tuple[dict[str, str], dict[str, str]]:
        if who == "nobody":
            return {}, {}
        if who.startswith("tablet"):
            tablet = enrolled(owner)
            if who == "tablet in hand":
                held(tablet, owner)
            sent = tablet.by(owner).headers | {"Origin": "http://localhost"}
            return sent, sent
        return ({"Authorization": f"Bearer {api_of(request.getfixturevalue(who)).key}"},) * 2

    return headers


def led(case: Case, names: Names) -> Case:
    """The same call with names of what there is, which comes further than random ones."""
    case.path_parameters = {name: names["path"].get(name, value) for name, value in case.path_parameters.items()}
    if isinstance(case.body, dict):
        case.body = {name: names["body"].get(name, value) for name, value in case.body.items()}
    return case


def operations() -> Iterator[Any]:
    for result in DOCUMENT.get_all_operations():
        assert isinstance(result, Ok)
        yield result.ok()


def test_the_other_gym_reads_its_own_names(elsewhere: Names) -> None:
    stranger = Membership.objects.get(person__full_name=f"{CANARY} Owner")
    assert CANARY in api_of(stranger).get("athletes/").content.decode()


@pytest.mark.usefixtures("_connection_stays")
@pytest.mark.parametrize("who", ["owner", "reader", "athlete_member", "nobody", "tablet in hand"])
def test_whoever_sends_whatever_learns_nothing_of_another_gym_and_breaks_nothing(
    who: str,
    here: Names,
    elsewhere: Names,
    headers_of: Callable[[str], tuple[dict[str, str], dict[str, str]]],
    record_property: Callable[[str, object], None],
) -> None:
    headers, floor_headers = headers_of(who)
    sent = 0

    def called(case: Case, path: str) -> None:
        nonlocal sent
        sent += 1
        along = floor_headers if "/floor/" in path else headers
        # The client does not unpack what it is sent.
        answer: Response = case.call(headers=along | {"Accept-Encoding": "identity"})
        case.validate_response(answer, checks=CHECKS)
        assert CANARY not in answer.text, f"{case.method} {path}"

    for operation in operations():

        @settings(
            max_examples=EXAMPLES,
            deadline=None,
            derandomize=True,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=[*HealthCheck],
        )
        @given(case=operation.as_strategy())
        def dealt(case: Case) -> None:
            called(case, operation.path)  # noqa: B023 (called at once)
            called(led(case, here), operation.path)  # noqa: B023 (called at once)
            called(led(case, elsewhere), operation.path)  # noqa: B023 (called at once)

        dealt()
    record_property(measured.CASES, [f"calls of the API by {who}", sent])
    assert sent >= LEAST_CASES
