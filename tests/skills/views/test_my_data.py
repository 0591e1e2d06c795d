"""Downloading everything kept about somebody: a file, for whom it is about and for nobody else, not too often."""

import json
from io import BytesIO
from zipfile import ZipFile

import pytest
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone

from athletes.models import AuditEntry
from tests.factories.athletes import Role, make_login, make_member


@pytest.fixture(autouse=True)
def _counts_begin_anew(db):
    cache.clear()
    yield
    cache.clear()


def name_in(answer) -> str:
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    assert answer["Cache-Control"] == "no-store"
    return json.loads(ZipFile(BytesIO(answer.content)).read("data.json"))["person"]["full_name"]


@pytest.mark.parametrize("who", ["owner", "coach", "reader", "athlete_member", "guardian"])
def test_everybody_has_their_own(request, client_of, who):
    member = request.getfixturevalue(who)
    answer = client_of(member).post(reverse("archive_mine"))
    assert name_in(answer) == member.person.full_name
    day = timezone.localdate(timezone=member.gym.zone)
    assert answer["Content-Disposition"] == f'attachment; filename="harbour-archive-{day}.zip"'
    assert AuditEntry.objects.filter(act="archive_taken", about=member.person_id).count() == 1


def test_a_guardian_has_their_wards_and_nobody_elses(client_of, guardian, minor, athlete):
    client = client_of(guardian)
    assert name_in(client.post(reverse("archive_ward", args=[minor.id]))) == "Mia Okafor"
    assert client.post(reverse("archive_ward", args=[athlete.id])).status_code == 404


def test_an_owner_makes_it_for_anybody_of_the_gym(client_of, owner, athlete, coach, other_coach):
    client = client_of(owner)
    for person in (athlete.person, coach.person):
        page = client.get(reverse("archive_of", args=[person.id]))
        assert person.full_name in page.content.decode()
        assert name_in(client.post(reverse("archive_of", args=[person.id]))) == person.full_name
    assert client.post(reverse("archive_of", args=[other_coach.person_id])).status_code == 404


def test_a_coach_makes_it_for_nobody(client_of, coach, athlete):
    client = client_of(coach)
    assert client.post(reverse("archive_of", args=[athlete.person_id])).status_code == 403
    assert client.post(reverse("archive_ward", args=[athlete.id])).status_code == 403


def test_of_who_was_erased_there_is_none(client_of, owner, athlete):
    athlete.person.erased_at = timezone.now()
    athlete.person.save()
    assert client_of(owner).post(reverse("archive_of", args=[athlete.person_id])).status_code == 404


def test_it_is_asked_for_by_a_post(client_of, athlete_member):
    assert client_of(athlete_member).get(reverse("archive_mine")).status_code == 405


def test_nobody_takes_it_again_and_again(client_of, athlete_member):
    client = client_of(athlete_member)
    statuses = [client.post(reverse("archive_mine")).status_code for _ in range(11)]
    assert statuses == [200] * 10 + [429]


def test_another_role_of_the_same_account_has_its_own(client_of, athlete, other_gym):
    login = make_login(athlete)
    elsewhere = make_member(other_gym, Role.COACH, "Ada Uptown", account=login.account, email="a@uptown.example")
    assert name_in(client_of(login).post(reverse("archive_mine"))) == "Ada Lindqvist"
    assert name_in(client_of(elsewhere).post(reverse("archive_mine"))) == "Ada Uptown"
