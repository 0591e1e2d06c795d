"""Codes of the demo's gym floor, and the file that tells them."""

import json
import stat

import pytest

from athletes.models import CoachCode, Tablet
from athletes.services.hand_overs import take_over
from athletes.services.tablets import enrol_tablet
from gymtrack.lib.ids import new_id
from skills.demo.canonical import canonical_dump
from skills.demo.cast import GYM_SLUG
from skills.demo.floor import give_codes, offer_tablet
from skills.demo.logins import FILE_NAME, keep_codes, keep_logins, kept_logins
from tests.factories.athletes import Role, make_gym, make_member

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return make_member(make_gym(slug=GYM_SLUG), Role.OWNER, "Benedita", email="owner@demo.example")


@pytest.fixture
def coach(owner):
    return make_member(owner.gym, Role.COACH, "Rui", email="coach@demo.example", rights=("may_log",))


def test_staff_get_codes_once_and_others_none(owner, coach):
    make_member(owner.gym, Role.COACH, "Nils", email="nils@harbour.example")
    make_member(owner.gym, Role.GUARDIAN, "Greta", email="guardian@demo.example")
    codes = give_codes()
    assert {*codes} == {"owner", "coach"}
    assert give_codes() == {}
    tablet = enrol_tablet(code=offer_tablet()).tablet
    assert take_over(tablet=tablet, hand_over_id=new_id(), coach_id=coach.id, code=codes["coach"]).coach == coach


def test_a_tablet_is_offered_until_it_is_let_in(owner):
    first, second = offer_tablet(), offer_tablet()
    assert first != second
    assert Tablet.objects.count() == 1
    assert enrol_tablet(code=second).tablet == Tablet.objects.get()
    assert offer_tablet() == ""


def test_the_dump_has_nothing_that_opens_a_tablet(owner):
    give_codes()
    enrol_tablet(code=offer_tablet())
    dump = canonical_dump(owner.gym).decode()
    assert "athletes.Tablet" in dump
    for secret in (CoachCode.objects.get().digest, Tablet.objects.get().key_digest or ""):
        assert json.dumps(secret)[1:-1] not in dump


def test_another_gym_is_left_alone(coach_two):
    assert (give_codes(), offer_tablet()) == ({}, "")
    assert not CoachCode.objects.exists()


def test_the_file_keeps_codes_and_puts_the_tablets_in_its_place(tmp_path):
    keep_logins(tmp_path, "abcd-efgh-jkmn")
    keep_codes(tmp_path, {"coach": "402917"}, "ABCD-EFGH")
    keep_codes(tmp_path, {}, "JKMN-PQRS")
    said = dict(line.split() for line in kept_logins(tmp_path).splitlines())
    assert {name: said[name] for name in ("password", "coach-code", "tablet")} == {
        "password": "abcd-efgh-jkmn",
        "coach-code": "402917",
        "tablet": "JKMN-PQRS",
    }
    keep_codes(tmp_path, {}, "")
    assert "tablet" not in kept_logins(tmp_path)
    assert stat.S_IMODE((tmp_path / FILE_NAME).stat().st_mode) == 0o600
