"""A form that is sent twice, by a double tap or a slow network, does its act once."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import Athlete, Caution, Gym, Membership
from skills.models import SignOff, TrainingSession
from tests.factories.skills import library, meet, reach, step_of


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def _id_in(client: Client, address: str) -> str:
    found = re.search(r'name="id" value="([0-9a-f-]{36})"', client.get(address).content.decode())
    assert found
    return found[1]


def test_a_not_yet(client_of: Callable[..., Client], coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    client, step = client_of(coach), step_of(athlete.gym, "pullover-3a")
    address = reverse("sign_off", args=[athlete.id, step.id, "finish"])
    said = {"id": _id_in(client, address), "decision": "not_yet", "reason": "calmer first"}
    assert [client.post(address, said).status_code for _ in range(2)] == [303, 303]
    assert SignOff.objects.filter(athlete=athlete, step=step, gate="finish").count() == 1


def test_a_caution(client_of: Callable[..., Client], coach: Membership, athlete: Athlete) -> None:
    client, address = client_of(coach), reverse("caution_add", args=[athlete.id])
    said = {"id": _id_in(client, address), "loads": ["hanging"]}
    assert [client.post(address, said).status_code for _ in range(2)] == [303, 303]
    assert Caution.objects.filter(athlete=athlete).count() == 1


def test_the_start_of_a_class(client_of: Callable[..., Client], coach: Membership) -> None:
    client = client_of(coach)
    said = {"id": _id_in(client, reverse("today")), "name": "Monday class"}
    assert [client.post(reverse("session_start"), said).status_code for _ in range(2)] == [303, 303]
    assert TrainingSession.objects.count() == 1
