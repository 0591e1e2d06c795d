import pytest

from athletes.models import Membership
from athletes.services.staff import LastOwner, NotACoach, NotInThisGym, change_rights, end_membership
from tests.factories.athletes import Role, make_member


def rights_of(member: Membership) -> dict[str, bool]:
    stored = Membership.objects.get(pk=member.pk)
    return {
        "log": stored.may_log,
        "signed_off": stored.may_sign_off,
        "edit": stored.may_edit_skills,
        "read": stored.may_read_reports,
    }


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
