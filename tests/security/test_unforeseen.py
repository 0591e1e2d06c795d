"""What nobody foresaw: a problem to a program, a page to a person, and in neither what went wrong inside."""

import json
from typing import NoReturn

import pytest
from django.test import Client

from athletes.models import Membership
from athletes.services.tokens import make_token
from skills.api import skills as api
from skills.views import skills as pages
from tests.helpers.api import PROBLEM
from tests.helpers.html import words_of

pytestmark = pytest.mark.django_db

SECRET = "Ada Lindqvist is not where she was"


def breaks(*_args: object, **_kwargs: object) -> NoReturn:
    raise ZeroDivisionError(SECRET)


@pytest.fixture
def client() -> Client:
    return Client(raise_request_exception=False)


def test_a_program_reads_a_problem(client: Client, coach: Membership, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(api.SkillList, "get", breaks)
    key = make_token(by=coach, name="door").key
    answer = client.get("/api/v1/skills/", headers={"Authorization": f"Bearer {key}"})
    assert (answer.status_code, answer["Content-Type"], answer["Cache-Control"]) == (500, PROBLEM, "no-store")
    told = json.loads(answer.content)
    assert {name: told[name] for name in ("type", "title", "status")} == {
        "type": "about:blank",
        "title": "Internal Server Error",
        "status": 500,
    }
    assert "Something went wrong here" in told["detail"]
    assert SECRET not in answer.content.decode()


def test_so_it_does_where_no_view_was_reached(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("athletes.access.middleware.MemberMiddleware.process_view", breaks)
    answer = client.get("/api/v1/skills/")
    assert (answer.status_code, answer["Content-Type"]) == (500, PROBLEM)


def test_a_person_reads_a_page(client: Client, coach: Membership, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "render_page", breaks)
    client.force_login(coach.account)
    answer = client.get("/skills/")
    assert (answer.status_code, answer["Content-Type"]) == (500, "text/html; charset=utf-8")
    assert "It is not your fault." in words_of(answer)
    assert SECRET not in answer.content.decode()


def test_what_cannot_be_read_at_all_is_told_in_the_same_two_ways(client: Client) -> None:
    elsewhere = {"Host": "elsewhere.example"}
    program, person = client.get("/api/v1/skills/", headers=elsewhere), client.get("/kept/", headers=elsewhere)
    assert (program.status_code, program["Content-Type"]) == (400, PROBLEM)
    assert (person.status_code, person["Content-Type"]) == (400, "text/html; charset=utf-8")
