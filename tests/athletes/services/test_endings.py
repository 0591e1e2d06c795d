"""What ends with a membership, at once."""

import pytest
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import HandOver
from athletes.services.links import end_guardianship, end_login
from athletes.services.staff import end_membership
from athletes.services.tokens import make_token
from tests.factories.athletes import PASSWORD, Role, make_member
from tests.helpers import floor


def signed_in(member) -> Client:
    """A browser in which somebody signed in through the page, as the library counts it."""
    client = Client()
    sent = client.post(reverse("account_login"), {"login": member.account.email, "password": PASSWORD})
    assert sent.status_code == 302
    return client


def test_who_belongs_nowhere_any_more_is_signed_out_everywhere(owner, coach):
    browsers, others = [signed_in(coach) for _ in range(2)], signed_in(owner)
    assert UserSession.objects.filter(user=coach.account).count() == 2
    end_membership(by=owner, membership=coach)
    assert [browser.get(reverse("roster")).status_code for browser in browsers] == [302, 302]
    assert not UserSession.objects.filter(user=coach.account).exists()
    assert Session.objects.filter(pk=others.session.session_key).exists()
    assert others.get(reverse("roster")).status_code == 200


def test_who_belongs_to_another_gym_stays_signed_in_there(owner, coach, other_gym):
    there = make_member(other_gym, Role.COACH, "Cleo Adeyemi", account=coach.account, rights=("may_log",))
    browser = signed_in(there)
    end_membership(by=owner, membership=coach)
    page = browser.get(reverse("roster"))
    assert (page.status_code, page.context["member"]) == (200, there)


@pytest.mark.parametrize("who", ["athlete_member", "guardian"])
def test_who_looks_from_home_is_signed_out_with_the_end(request, coach, athlete, who):
    member = request.getfixturevalue(who)
    browser = signed_in(member)
    assert browser.get(reverse("my_progress")).status_code < 400
    if who == "guardian":
        end_guardianship(by=coach, guardianship=member.wards.get())
    else:
        end_login(by=coach, athlete=athlete)
    assert browser.get(reverse("my_progress")).status_code == 302
    assert not UserSession.objects.filter(user=member.account).exists()


def test_tablets_in_hand_are_left(owner, coach, coach_two):
    device = floor.enrolled(owner)
    for holder in (coach, coach_two):
        floor.held(device, holder)
    before = timezone.now()
    end_membership(by=owner, membership=coach)
    ended, holding = (HandOver.objects.get(coach=holder).ended_at for holder in (coach, coach_two))
    assert ended is not None
    assert ended >= before
    assert holding is None


def test_a_key_dies_with_its_owners_membership(client, owner):
    second = make_member(owner.gym, Role.OWNER, "Ines Roth")
    key = make_token(by=second, name="door").key
    headers = {"Authorization": f"Bearer {key}"}
    assert client.get("/api/v1/athletes/", headers=headers).status_code == 200
    end_membership(by=owner, membership=second)
    assert client.get("/api/v1/athletes/", headers=headers).status_code == 401
