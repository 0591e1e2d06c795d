"""A tablet's own calls: let in by a code, handed over by another one, left."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from athletes.models import HandOver, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.staff import change_rights
from athletes.services.tablets import add_tablet
from athletes.services.tokens import digest_of
from tests.helpers.floor import CODE, ORIGIN, Device, enrolled, hand_over_body, held

ENROL = "/api/v1/floor/enrol/"


@pytest.fixture
def device(owner) -> Device:
    return enrolled(owner)


def enrol(code: str, **headers: str):
    sent = {"Origin": ORIGIN, **headers}
    return Client().post(ENROL, {"code": code}, content_type="application/json", headers=sent)


def said(answer) -> tuple[int, str]:
    return answer.status_code, answer.json().get("code", "")


def test_a_code_lets_one_device_in_and_tells_its_key(owner):
    added = add_tablet(by=owner, name="window")
    answer = enrol(added.code.lower().replace("-", " "))
    assert answer.status_code == 201
    told = answer.json()
    assert told["tablet"] == {"id": str(added.tablet.id), "name": "window"}
    assert told["gym"] == {"id": str(owner.gym_id), "name": owner.gym.name}
    kept = Tablet.objects.get()
    assert (kept.key_digest, kept.code_digest) == (digest_of(told["key"]), "")
    assert Device(kept, told["key"]).get("hello/").status_code == 200


@pytest.mark.usefixtures("athlete_member", "guardian")
def test_hello_tells_staff_and_no_athlete(device, owner, coach, coach_two):
    change_rights(by=owner, coach=coach_two, rights=frozenset())
    set_code(by=coach, code=CODE)
    told = device.get("hello/").json()
    assert told["gym"]["name"] == "Harbour Hall"
    assert told["tablet"] == {"id": str(device.tablet.id), "name": "by the low bar"}
    assert {row["name"]: row["has_code"] for row in told["coaches"]} == {"Olga Brandt": False, "Cleo Adeyemi": True}
    assert told["holding"] == []
    held(device, coach)
    (holding,) = device.get("hello/").json()["holding"]
    assert (holding["coach"], holding["name"]) == (str(coach.id), "Cleo Adeyemi")


def test_a_code_hands_the_tablet_over_for_twelve_hours(device, coach):
    set_code(by=coach, code=CODE)
    body = hand_over_body(coach)
    told = device.post("hand-over/", body).json()
    row = HandOver.objects.get()
    assert (told["hand_over"], told["coach"], told["name"]) == (body["id"], str(coach.id), "Cleo Adeyemi")
    assert told["may_sign_off"] is True
    assert row.until_at - row.confirmed_at == timedelta(hours=12)
    assert datetime.fromisoformat(told["until"]) == row.until_at
    again = device.post("hand-over/", body).json()
    assert {**again, "at": ""} == {**told, "at": ""}
    assert HandOver.objects.count() == 1
