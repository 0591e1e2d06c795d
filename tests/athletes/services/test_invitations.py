"""Who is invited to what: made, made again, renewed, taken back."""

import json
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.utils import timezone

from athletes.core.tablets import LETTERS
from athletes.models import AuditEntry, Guardianship, Invitation, Membership, Person
from athletes.services.accounts import BadEmail
from athletes.services.audit import first_broken_link
from athletes.services.consents import record_consent
from athletes.services.invitations import (
    AlreadyGuardian,
    AlreadyHasLogin,
    AlreadyOnStaff,
    BadName,
    LoginNotAgreed,
    LoginTaken,
    NotAMinor,
    NotWaiting,
    invite_athlete,
    invite_guardian,
    invite_staff,
    renew_invitation,
    revoke_invitation,
)
from athletes.services.joining import UnknownInvitation, join, offer_of_code
from athletes.services.rights import NoSkillChosen, UnknownSkill
from athletes.services.staff import change_rights, end_membership
from tests.factories.athletes import Role, make_account, make_consent, make_member, years_before_today
from tests.factories.skills import library

NILS: dict[str, Any] = {
    "full_name": " Nils  Aho",
    "email": "Nils@Harbour.Example",
    "role": "coach",
    "rights": frozenset({"may_log"}),
}
INES: dict[str, Any] = {"full_name": "Ines Roth", "email": "", "role": "owner", "rights": frozenset()}


def opens(code: str) -> bool:
    try:
        offer_of_code(code)
    except UnknownInvitation:
        return False
    return True


def test_a_coach_is_invited_with_rights_and_for_fourteen_days(owner):
    made = invite_staff(by=owner, **NILS)
    stored = Invitation.objects.get()
    assert (stored.role, stored.rights, stored.sign_off_skills, stored.athlete) == ("coach", ["may_log"], None, None)
    assert (stored.person.full_name, stored.person.email) == ("Nils Aho", "nils@harbour.example")
    assert stored.until_at - stored.made_at == timedelta(days=14)
    assert (stored.mailed_at, stored.used_at, stored.revoked_at, stored.made_by) == (None, None, None, owner)
    assert opens(made.code)
    entry = AuditEntry.objects.get()
    assert (entry.act, entry.actor, entry.about) == ("invitation_made", owner, stored.id)
    assert json.loads(entry.content) == {
        "role": "coach",
        "until": stored.until_at.isoformat(),
        "rights": ["may_log"],
        "sign_off_skills": None,
    }
    assert not Membership.objects.filter(person=stored.person).exists()


def test_how_long_a_code_holds_is_a_setting(owner, settings):
    settings.INVITATION_DAYS = 3
    made = invite_staff(by=owner, **NILS)
    with time_machine.travel(timezone.now() + timedelta(days=3, seconds=-5)):
        assert opens(made.code)
    with time_machine.travel(timezone.now() + timedelta(days=3, seconds=5)):
        assert not opens(made.code)


def test_the_code_is_twelve_signs_that_nobody_confuses_and_only_its_digest_is_kept(owner):
    code = invite_staff(by=owner, **NILS).code
    assert [len(group) for group in code.split("-")] == [4, 4, 4]
    assert set(code) <= {*LETTERS, "-"}
    bare = code.replace("-", "")
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM athletes_invitation")
        assert not [value for value in cursor.fetchone() if bare in str(value) or code in str(value)]
    assert bare not in AuditEntry.objects.get().content


def test_codes_are_not_told_apart_by_case_hyphens_or_blanks(owner):
    code = invite_staff(by=owner, **NILS).code
    assert opens(f" {code.lower().replace('-', ' ')} ")
    assert not opens(code[:-1])
    assert not opens("")


def test_an_owner_is_invited_without_rights_to_list(owner):
    stored = invite_staff(by=owner, **{**INES, "rights": frozenset({"may_log"})}).invitation
    assert (stored.role, stored.rights, stored.sign_off_skills) == ("owner", [], None)


def test_the_right_to_sign_off_may_be_for_chosen_skills(owner):
    library(owner.gym, owner)
    wish = {**NILS, "rights": frozenset({"may_sign_off"})}
    assert invite_staff(by=owner, **wish, sign_off_skills=["bar-pullover"]).invitation.sign_off_skills == [
        "bar-pullover"
    ]
    for chosen, refusal in ((["knitting"], UnknownSkill), ([], NoSkillChosen)):
        with pytest.raises(refusal):
            invite_staff(by=owner, **wish, sign_off_skills=chosen)


@pytest.mark.parametrize(
    ("changed", "refusal"),
    [({"full_name": " "}, BadName), ({"email": "nils"}, BadEmail), ({"role": "athlete"}, ValueError)],
)
def test_what_cannot_be_invited_leaves_nothing_behind(owner, changed, refusal):
    with pytest.raises(refusal):
        invite_staff(by=owner, **{**NILS, **changed})
    assert not Invitation.objects.exists()
    assert Person.objects.count() == 1


def test_who_is_on_the_staff_is_not_invited_to_the_same_role(owner, coach):
    with pytest.raises(AlreadyOnStaff, match="belongs to the staff"):
        invite_staff(by=owner, **{**NILS, "email": coach.account.email})
    assert invite_staff(by=owner, **{**NILS, "email": owner.account.email}).code  # an owner may coach as well


def test_an_account_of_another_gym_is_invited_like_any_other_and_stays_as_it_is(owner, other_coach):
    made = invite_staff(by=owner, **{**NILS, "email": other_coach.account.email})
    assert opens(made.code)
    assert [member.gym for member in Membership.objects.filter(account=other_coach.account)] == [other_coach.gym]


def test_the_same_again_gives_a_new_code_and_ends_the_old_one(owner):
    first = invite_staff(by=owner, **NILS)
    again = invite_staff(by=owner, **{**NILS, "full_name": "Nils Ahonen", "rights": frozenset()})
    assert again.invitation == first.invitation
    assert (opens(first.code), opens(again.code)) == (False, True)
    stored = Invitation.objects.get()
    assert (stored.person.full_name, stored.rights) == ("Nils Ahonen", [])
    other = invite_staff(by=owner, **{**NILS, "email": "nora@harbour.example"})
    assert other.invitation != first.invitation
    nameless = [
        invite_staff(by=owner, **{**INES, "full_name": name}) for name in ("Ines Roth", "Ina Rost", "Ines Roth")
    ]
    assert nameless[0].invitation == nameless[2].invitation != nameless[1].invitation


def test_an_athlete_is_invited_under_the_address_of_the_roster(coach, athlete):
    made = invite_athlete(by=coach, athlete=athlete, email=" Ada@Home.Example")
    assert (made.invitation.role, made.invitation.athlete, made.invitation.person) == (
        "athlete",
        athlete,
        athlete.person,
    )
    athlete.person.refresh_from_db()
    assert athlete.person.email == "ada@home.example"
    assert json.loads(AuditEntry.objects.get().content)["athlete"] == str(athlete.id)
    without = invite_athlete(by=coach, athlete=athlete, email="")
    athlete.person.refresh_from_db()
    assert athlete.person.email == "ada@home.example"
    assert without.invitation == made.invitation


def test_an_athlete_with_a_log_in_is_not_invited(coach, athlete, athlete_member, minor):
    with pytest.raises(AlreadyHasLogin):
        invite_athlete(by=coach, athlete=athlete, email="ada@work.example")
    make_consent(minor, by=coach, kind="login")
    with pytest.raises(LoginTaken):
        invite_athlete(by=coach, athlete=minor, email=athlete_member.account.email)


def test_who_is_too_young_gets_a_log_in_with_a_guardians_yes_alone(coach, minor):
    with pytest.raises(LoginNotAgreed) as refusal:
        invite_athlete(by=coach, athlete=minor, email="mia@home.example")
    assert str(refusal.value) == (
        "Number 1 may have no log-in yet: a guardian, as for everybody below 16, must agree to “a log-in of their own” "
        "first. Write it down under Consents, then invite them."
    )
    assert not Invitation.objects.exists()
    record_consent(by=coach, athlete=minor, kind="login", given=True)
    made = invite_athlete(by=coach, athlete=minor, email="mia@home.example")
    record_consent(by=coach, athlete=minor, kind="login", given=False)
    assert not opens(made.code)
    make_consent(minor, by=coach, kind="login", said_by="athlete")  # who does not decide yet
    with pytest.raises(LoginNotAgreed):
        invite_athlete(by=coach, athlete=minor, email="")


def test_an_invitation_is_not_renewed_when_a_guardian_took_it_back(coach, minor):
    make_consent(minor, by=coach, kind="login")
    made = invite_athlete(by=coach, athlete=minor, email="")
    make_consent(minor, by=coach, kind="login", given=False)
    with pytest.raises(LoginNotAgreed):
        renew_invitation(by=coach, invitation=made.invitation)


def test_who_decides_about_their_data_takes_a_log_in_by_their_own_act_until_they_say_no(coach, minor):
    minor.person.birth_on = years_before_today(16)
    minor.person.save()
    assert opens(invite_athlete(by=coach, athlete=minor, email="").code)
    record_consent(by=coach, athlete=minor, kind="login", given=False)
    with pytest.raises(LoginNotAgreed, match="yet: they must agree"):
        invite_athlete(by=coach, athlete=minor, email="")


def test_only_a_minor_gets_a_guardian_and_each_guardian_once(coach, guardian, athlete, minor):
    known = {"full_name": "Greta Okafor", "email": guardian.account.email}
    with pytest.raises(NotAMinor):
        invite_guardian(by=coach, athlete=athlete, **known)
    with pytest.raises(AlreadyGuardian):
        invite_guardian(by=coach, athlete=minor, **known)
    with pytest.raises(BadName):
        invite_guardian(by=coach, athlete=minor, **{**known, "full_name": ""})
    both = [invite_guardian(by=coach, athlete=minor, full_name=name, email="") for name in ("Gus Okafor", "Gil Okafor")]
    assert [opens(made.code) for made in both] == [True, True]
    assert Guardianship.objects.count() == 1


def test_renewing_gives_a_new_code_for_the_full_time_also_after_it_ran_out(owner):
    made = invite_staff(by=owner, **NILS)
    later = timezone.now() + timedelta(days=20)
    with time_machine.travel(later):
        assert not opens(made.code)
        again = renew_invitation(by=owner, invitation=made.invitation)
        assert opens(again.code)
        assert again.invitation.until_at >= later + timedelta(days=14)
    assert not opens(made.code)
    assert [entry.act for entry in AuditEntry.objects.order_by("position")] == ["invitation_made", "invitation_renewed"]


def test_taken_back_is_taken_back_once_and_not_renewed(owner):
    made = invite_staff(by=owner, **NILS)
    assert revoke_invitation(by=owner, invitation=made.invitation) is True
    assert not opens(made.code)
    assert revoke_invitation(by=owner, invitation=made.invitation) is False
    with pytest.raises(NotWaiting):
        renew_invitation(by=owner, invitation=made.invitation)
    assert [entry.act for entry in AuditEntry.objects.order_by("position")] == ["invitation_made", "invitation_revoked"]
    assert first_broken_link(owner.gym) is None


def test_what_was_used_is_neither_taken_back_nor_renewed(owner):
    made = invite_staff(by=owner, **NILS)
    join(offer=offer_of_code(made.code), account=make_account("nils@harbour.example"))
    assert revoke_invitation(by=owner, invitation=made.invitation) is False
    with pytest.raises(NotWaiting):
        renew_invitation(by=owner, invitation=made.invitation)


def test_another_gym_reaches_no_invitation(owner, other_gym):
    made = invite_staff(by=owner, **NILS)
    other_owner = make_member(other_gym, Role.OWNER, "Oona Varga")
    assert revoke_invitation(by=other_owner, invitation=made.invitation) is False
    with pytest.raises(NotWaiting):
        renew_invitation(by=other_owner, invitation=made.invitation)
    assert opens(made.code)


def test_who_must_go_keeps_no_code_to_come_back_by(owner, coach, minor):
    second = make_member(owner.gym, Role.OWNER, "Ines Roth")
    make_consent(minor, by=owner, kind="login")
    kept = [
        invite_staff(by=second, **NILS),
        invite_athlete(by=second, athlete=minor, email=""),
        invite_guardian(by=second, athlete=minor, full_name="Gus Okafor", email=""),
    ]
    others = invite_staff(by=owner, **INES)
    end_membership(by=owner, membership=second)
    assert [opens(made.code) for made in kept] == [False, False, False]
    assert opens(others.code)


def test_who_may_not_log_any_more_lets_nobody_in(owner, coach, minor):
    make_consent(minor, by=coach, kind="login")
    made = invite_athlete(by=coach, athlete=minor, email="")
    change_rights(by=owner, coach=coach, rights=frozenset({"may_log"}))
    assert opens(made.code)
    change_rights(by=owner, coach=coach, rights=frozenset({"may_sign_off"}))
    assert not opens(made.code)


def test_nobody_who_was_erased_is_let_in(owner):
    made = invite_staff(by=owner, **NILS)
    Person.objects.filter(pk=made.invitation.person_id).update(erased_at=timezone.now())
    assert not opens(made.code)
