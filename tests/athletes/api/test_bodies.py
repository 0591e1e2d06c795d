"""What the API reads: bodies, unknown names, moments."""

import json
from collections.abc import Mapping
from typing import Any

import pytest
from django.test import Client
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from athletes.models import Membership
from gymtrack.lib.bodies import MOST_BYTES, MomentField, StrictSerializer
from tests.helpers.api import PROBLEM, Api, api_of, places


@pytest.fixture
def api(coach: Membership) -> Api:
    return api_of(coach)


def problem(answer: Any) -> str:
    assert answer.headers["Content-Type"] == PROBLEM
    assert answer.json()["status"] == answer.status_code
    detail: str = answer.json()["detail"]
    return detail


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"{", "JSON parse error"),
        (b"\xff", "JSON parse error"),
        (b'{"name": NaN}', "JSON parse error"),
        (b"[" * 20_000, "nested too deeply"),
        (b'{"name": "\\ud800"}', "half a character"),
        (b'{"\\ud800": 1}', "half a character"),
    ],
)
def test_what_is_no_json_is_400_with_a_sentence(api: Api, body: bytes, words: str) -> None:
    answer = api.send("post", "sessions/", body)
    assert answer.status_code == 400
    assert words in problem(answer)


def test_a_body_has_a_limit(api: Api) -> None:
    fitting = json.dumps({"name": ""}).encode()
    fitting = fitting.replace(b'""', b'"' + b"x" * (MOST_BYTES - len(fitting)) + b'"')
    assert len(fitting) == MOST_BYTES
    assert places(api.send("post", "sessions/", fitting)).keys() == {"name"}
    answer = api.send("post", "sessions/", fitting + b" ")
    assert answer.status_code == 413
    assert "65536 bytes" in problem(answer)


def test_only_json_is_read(api: Api) -> None:
    answer = Client().post("/api/v1/sessions/", {"name": "x"}, headers={"Authorization": f"Bearer {api.key}"})
    assert answer.status_code == 415
    assert "Unsupported media type" in problem(answer)


@pytest.mark.parametrize("body", [[], "name", 5, None, [{"name": "x"}]])
def test_a_body_is_an_object(api: Api, body: object) -> None:
    answer = api.send("post", "sessions/", json.dumps(body).encode())
    assert places(answer).keys() <= {"", "name"}


def test_an_unknown_name_is_refused_with_the_other_mistakes(api: Api) -> None:
    sentences = places(api.post("sessions/", {"nam": "x", "starts_at": "now"}))
    assert sentences.keys() == {"nam", "name", "starts_at"}
    assert sentences["nam"] == "There is no such field."


class Inner(StrictSerializer):
    count = serializers.IntegerField()


class Outer(StrictSerializer):
    inner = Inner(many=True)


def test_an_unknown_name_inside_a_list_is_refused_too() -> None:
    with pytest.raises(ValidationError) as caught:
        Outer(data={"inner": [{"count": 1, "cuont": 2}]}).is_valid(raise_exception=True)
    assert isinstance(caught.value.detail, Mapping)
    assert "cuont" in str(caught.value.detail["inner"])


@pytest.mark.parametrize(
    ("written", "in_utc"),
    [
        ("2026-03-02T18:05:00+01:00", "2026-03-02T17:05:00Z"),
        ("2026-03-02t18:05:00z", "2026-03-02T18:05:00Z"),
        ("2026-03-02 18:05:00.25-05:30", "2026-03-02T23:35:00.250000Z"),
        ("2026-03-02T18:05:00.1234567+00:00", "2026-03-02T18:05:00.123456Z"),
        # The two 02:30 of the night in which Berlin sets its clocks back (IANA, Europe/Berlin).
        ("2026-10-25T02:30:00+02:00", "2026-10-25T00:30:00Z"),
        ("2026-10-25T02:30:00+01:00", "2026-10-25T01:30:00Z"),
    ],
)
def test_moments_are_read_with_their_offset_and_told_in_utc(written: str, in_utc: str) -> None:
    field = MomentField()
    assert field.to_representation(field.to_internal_value(written)) == in_utc
