"""What views for tablets get from their base: the tablet, the coach who holds it, and who does not pass."""

from datetime import timedelta
from uuid import UUID

import pytest
import time_machine
from django.test import Client
from django.utils import timezone
from rest_framework.response import Response
from rest_framework.test import APIRequestFactory

from athletes.access.tablets import MAY_LOG
from athletes.api.tablets import FloorView
from athletes.services.staff import change_rights, end_membership
from athletes.services.tablets import revoke_tablet
from gymtrack.lib.problems import Refused
from tests.factories.athletes import Role, make_member
from tests.helpers.floor import Device, enrolled, held


class AboutPeople(FloorView):
    """Tells who asks, as a view about people sees it."""

    access_rule = MAY_LOG

    def get(self, _request):
        return Response([self.tablet.name, self.member.person.full_name])


class ManyCoaches(FloorView):
    """Tells for each of several coaches whether they hold the tablet."""

    access_rule = MAY_LOG

    def get(self, request):
        return Response([self._told(coach) for coach in request.query_params.getlist("coach")])

    def _told(self, coach: str) -> str:
        try:
            member, hand_over = self.holder_of(UUID(coach))
        except Refused as refused:
            return refused.problem_code
        assert hand_over.coach == member
        return member.person.full_name


class Silent(FloorView):
    """States no rule."""

    def get(self, _request):
        return Response("secret")


def ask(view: type[FloorView], device: Device, address: str = "/") -> Response:
    return view.as_view()(APIRequestFactory().get(address, headers=device.headers))


def said(answer) -> tuple[int, str]:
    return answer.status_code, answer.data.get("code", "")


@pytest.fixture
def device(owner) -> Device:
    return enrolled(owner)


def test_the_coach_who_holds_the_tablet_is_the_member(device, coach):
    held(device, coach)
    assert ask(AboutPeople, device.by(coach)).data == ["by the low bar", "Cleo Adeyemi"]


def test_an_owner_may_hold_it_too(device, owner):
    held(device, owner)
    assert ask(AboutPeople, device.by(owner)).data == ["by the low bar", "Olga Brandt"]


def test_the_key_alone_and_a_name_alone_tell_nothing(device, coach, coach_two):
    assert said(ask(AboutPeople, device)) == (403, "hand_over")
    assert said(ask(AboutPeople, device.by(coach))) == (403, "hand_over")
    held(device, coach)
    assert said(ask(AboutPeople, device.by(coach_two))) == (403, "hand_over")
    assert said(ask(AboutPeople, device)) == (403, "hand_over")


@pytest.mark.parametrize("name", ["", "7", "Cleo Adeyemi", "'; --"])
def test_a_coach_named_by_anything_but_an_id_holds_nothing(device, coach, name):
    held(device, coach)
    request = APIRequestFactory().get("/", HTTP_AUTHORIZATION=f"Tablet {device.key}", HTTP_COACH=name)
    assert said(AboutPeople.as_view()(request)) == (403, "hand_over")


def test_a_hand_over_ends_after_twelve_hours(device, coach):
    row = held(device, coach)
    for moment, status in ((row.until_at - timedelta(microseconds=1), 200), (row.until_at, 403)):
        with time_machine.travel(moment, tick=False):
            assert ask(AboutPeople, device.by(coach)).status_code == status


def test_a_hand_over_holds_on_its_own_tablet_alone(device, owner, coach):
    held(enrolled(owner, name="other one"), coach)
    assert said(ask(AboutPeople, device.by(coach))) == (403, "hand_over")


def test_a_hand_over_in_another_gym_opens_nothing_here(device, other_gym):
    there = make_member(other_gym, Role.OWNER, "Odile Grau")
    held(enrolled(there), there)
    assert said(ask(AboutPeople, device.by(there))) == (403, "hand_over")


def test_what_the_tablet_may_do_ends_with_the_membership(device, owner, coach):
    held(device, coach)
    end_membership(by=owner, membership=coach)
    assert said(ask(AboutPeople, device.by(coach))) == (403, "right")


def test_what_the_tablet_may_do_ends_with_the_right(device, owner, coach):
    held(device, coach)
    change_rights(by=owner, coach=coach, rights=frozenset({"may_sign_off"}))
    assert said(ask(AboutPeople, device.by(coach))) == (403, "right")
    change_rights(by=owner, coach=coach, rights=frozenset({"may_log"}))
    assert ask(AboutPeople, device.by(coach)).status_code == 200


def test_what_the_tablet_may_do_ends_with_the_account(device, coach):
    held(device, coach)
    coach.account.is_active = False
    coach.account.save(update_fields=["is_active"])
    assert said(ask(AboutPeople, device.by(coach))) == (403, "right")


def test_what_the_tablet_may_do_ends_when_it_is_shut_out(device, owner, coach):
    held(device, coach)
    revoke_tablet(by=owner, tablet=device.tablet)
    assert said(ask(AboutPeople, device.by(coach))) == (401, "tablet")


def test_each_act_of_several_coaches_is_judged_by_its_own(device, owner, coach, coach_two, other_coach):
    for person in (coach, coach_two):
        held(device, person)
    end_membership(by=owner, membership=coach_two)
    query = "&".join(f"coach={person.id}" for person in (coach, coach_two, owner, other_coach))
    assert ask(ManyCoaches, device.by(coach), f"/?{query}").data == ["Cleo Adeyemi", "right", "hand_over", "hand_over"]


def test_a_call_asks_for_the_tablet_and_for_each_coach_once(device, coach, django_assert_num_queries):
    held(device, coach)
    ask(AboutPeople, device.by(coach))
    with django_assert_num_queries(2):
        ask(ManyCoaches, device.by(coach), f"/?coach={coach.id}&coach={coach.id}")


def test_a_view_that_states_no_rule_lets_nobody_in(device, coach):
    held(device, coach)
    assert ask(Silent, device.by(coach)).status_code == 403


def test_days_are_the_gyms_from_then_on(device, other_gym):
    there = enrolled(make_member(other_gym, Role.OWNER, "Odile Grau"))

    class Zone(FloorView):
        access_rule = AboutPeople.access_rule

        def get(self, _request):
            return Response(timezone.get_current_timezone_name())

    with timezone.override(None):
        held(there, there.tablet.let_in_by)
        assert ask(Zone, there.by(there.tablet.let_in_by)).data == "America/New_York"


def test_a_signed_in_owner_is_nobody_here(client_of, owner, device):
    answer = client_of(owner).get("/api/v1/floor/hello/", headers={"Authorization": f"Tablet {device.key}"})
    assert answer.status_code == 200
    assert answer.json() | {"at": ""} == device.get("hello/").json() | {"at": ""}
    assert Client().get("/api/v1/floor/hello/").status_code == 401
