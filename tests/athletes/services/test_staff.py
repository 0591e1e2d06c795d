from typing import Any

import pytest

from athletes.models import AuditEntry, Membership
from athletes.services.accounts import BadEmail
from athletes.services.staff import (
    AlreadyOnStaff,
    BadName,
    LastOwner,
    NotACoach,
    NotInThisGym,
    add_coach,
    change_rights,
    end_membership,
)
from tests.factories.athletes import PASSWORD, Role, make_member

NEW: dict[str, Any] = {"full_name": "Nils Aho", "email": "Nils@Harbour.Example", "password": PASSWORD}


def rights_of(member: Membership) -> dict[str, bool]:
    stored = Membership.objects.get(pk=member.pk)
    return {
        "log": stored.may_log,
        "signed_off": stored.may_sign_off,
        "edit": stored.may_edit_skills,
        "read": stored.may_read_reports,
    }


def test_a_new_coach_can_sign_in_and_has_the_rights_given(owner):
    coach = add_coach(by=owner, **NEW, rights=frozenset({"may_log", "may_read_reports"}))
    assert coach.account.email == "nils@harbour.example"
    assert coach.account.check_password(PASSWORD)
    assert rights_of(coach) == {"log": True, "signed_off": False, "edit": False, "read": True}
    entry = AuditEntry.objects.get()
    assert (entry.actor, entry.about) == (owner, coach.id)
    assert entry.content == '{"rights":["may_log","may_read_reports"]}'


def test_a_coach_of_another_gym_coaches_here_too_with_the_same_password(owner, other_coach):
    wish = {**NEW, "email": other_coach.account.email, "password": "not the old one at all"}
    coach = add_coach(by=owner, **wish, rights=frozenset())
    assert coach.account == other_coach.account
    assert coach.person != other_coach.person
    assert coach.gym == owner.gym
    coach.account.refresh_from_db()
    assert coach.account.check_password(PASSWORD)


def test_an_owner_who_coaches_is_one_person(owner):
    coach = add_coach(by=owner, **{**NEW, "email": owner.account.email}, rights=frozenset({"may_log"}))
    assert coach.person == owner.person


def test_a_coach_is_added_once(owner, coach):
    with pytest.raises(AlreadyOnStaff, match="coaches here already"):
        add_coach(by=owner, **{**NEW, "email": coach.account.email}, rights=frozenset())


def test_a_coach_who_left_can_come_back(owner, coach):
    end_membership(by=owner, membership=coach)
    again = add_coach(by=owner, **{**NEW, "email": coach.account.email}, rights=frozenset())
    assert again.pk != coach.pk
    assert again.person == coach.person


@pytest.mark.parametrize(("changed", "refusal"), [({"full_name": " "}, BadName), ({"email": "nils"}, BadEmail)])
def test_a_coach_needs_name_and_address(owner, changed, refusal):
    with pytest.raises(refusal):
        add_coach(by=owner, **{**NEW, **changed}, rights=frozenset())
    assert Membership.objects.count() == 1


def test_rights_are_replaced(owner, coach):
    change_rights(by=owner, coach=coach, rights=frozenset({"may_edit_skills"}))
    assert rights_of(coach) == {"log": False, "signed_off": False, "edit": True, "read": False}


def test_a_right_that_does_not_exist_is_a_mistake(owner, coach):
    with pytest.raises(ValueError, match="may_fly"):
        change_rights(by=owner, coach=coach, rights=frozenset({"may_fly"}))


def test_an_owners_rights_cannot_be_changed(owner):
    with pytest.raises(NotACoach):
        change_rights(by=owner, coach=owner, rights=frozenset())


def test_another_gyms_coach_is_out_of_reach(owner, other_coach):
    with pytest.raises(NotInThisGym):
        change_rights(by=owner, coach=other_coach, rights=frozenset())
    with pytest.raises(NotInThisGym):
        end_membership(by=owner, membership=other_coach)
    other_coach.refresh_from_db()
    assert other_coach.ended_at is None
    assert other_coach.may_log


def test_a_membership_ends_once(owner, coach):
    end_membership(by=owner, membership=coach)
    ended_at = Membership.objects.get(pk=coach.pk).ended_at
    assert ended_at is not None
    with pytest.raises(NotInThisGym):
        end_membership(by=owner, membership=coach)
    stale = Membership.objects.get(pk=coach.pk)
    stale.ended_at = None  # as another browser saw it a moment before
    with pytest.raises(NotInThisGym):
        end_membership(by=owner, membership=stale)
    assert Membership.objects.get(pk=coach.pk).ended_at == ended_at


def test_the_last_owner_stays(owner):
    with pytest.raises(LastOwner):
        end_membership(by=owner, membership=owner)
    second = make_member(owner.gym, Role.OWNER, "Ines Roth")
    end_membership(by=owner, membership=owner)
    with pytest.raises(LastOwner):
        end_membership(by=second, membership=second)
