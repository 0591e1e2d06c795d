"""How an invitation is used: once, by one's own act, under a password of one's own."""

import json
from datetime import timedelta
from functools import partial

import pytest
import time_machine
from allauth.account.models import EmailAddress
from django.contrib.auth.hashers import check_password
from django.utils import timezone

from athletes.models import Account, AuditEntry, Guardianship, Invitation, Membership, Person, RightsChange
from athletes.services.accounts import BadEmail, WeakPassword
from athletes.services.audit import first_broken_link
from athletes.services.invitations import (
    AlreadyGuardian,
    AlreadyHasLogin,
    AlreadyOnStaff,
    LoginNotAgreed,
    LoginTaken,
    NotAMinor,
    invite_athlete,
    invite_guardian,
    invite_staff,
    renew_invitation,
    revoke_invitation,
)
from athletes.services.joining import (
    OwnGuardian,
    StaffAccount,
    UnknownInvitation,
    join,
    join_anew,
    joined_by,
    letter_for,
    offer_of_code,
    offer_of_letter,
    open_invitation,
)
from athletes.services.links import end_guardianship, end_login
from athletes.services.staff import end_membership
from tests.factories.athletes import (
    PASSWORD,
    Role,
    make_account,
    make_athlete,
    make_consent,
    make_login,
    make_member,
    years_before_today,
)
from tests.helpers.threads import at_once

SIGN_OFF = frozenset({"may_log", "may_sign_off"})


def invited(owner, email="nils@harbour.example", role="coach", name="Nils Aho", **more):
    return invite_staff(by=owner, full_name=name, email=email, role=role, rights=SIGN_OFF, **more)


def offer(made):
    return offer_of_code(made.code)


def test_a_new_coach_joins_with_a_password_of_their_own(owner):
    made = invited(owner)
    member = join_anew(offer=offer(made), email=" Nils@Harbour.example", password=PASSWORD)
    assert member is not None
    assert (member.account.email, member.account.check_password(PASSWORD)) == ("nils@harbour.example", True)
    assert (member.gym, member.role, member.person) == (owner.gym, "coach", made.invitation.person)
    assert (member.may_log, member.may_sign_off, member.may_edit_skills) == (True, True, False)
    change = RightsChange.objects.get(membership=member)
    assert (change.rights, change.happened_at) == (["may_log", "may_sign_off"], member.started_at)
    used = Invitation.objects.get()
    assert (used.became, used.used_at is not None) == (member, True)
    entry = AuditEntry.objects.latest("position")
    assert (entry.act, entry.actor, entry.about) == ("invitation_used", member, used.id)
    assert json.loads(entry.content) == {"role": "coach", "membership": str(member.id)}
    assert first_broken_link(owner.gym) is None


def test_an_invited_owner_has_every_right(owner):
    member = join(offer=offer(invited(owner, role="owner")), account=make_account("ines@harbour.example"))
    assert member.is_owner
    assert len(RightsChange.objects.get(membership=member).rights) == 4
    end_membership(by=member, membership=owner)
    owner.refresh_from_db()
    assert owner.ended_at is not None


def test_a_code_works_once(owner):
    made = invited(owner)
    kept = offer(made)
    member = join(offer=kept, account=make_account("nils@harbour.example"))
    for account in (member.account, make_account("nora@harbour.example")):
        with pytest.raises(UnknownInvitation):
            join(offer=kept, account=account)
    assert joined_by(kept, member.account) == member
    assert joined_by(kept, Account.objects.get(email="nora@harbour.example")) is None
    assert Membership.objects.filter(role="coach").count() == 1


def test_used_renewed_taken_back_run_out_and_unknown_are_told_alike(owner):
    told = set()

    def refused(kept):
        for act in (lambda: open_invitation(kept), lambda: join(offer=kept, account=owner.account)):
            with pytest.raises(UnknownInvitation) as refusal:
                act()
            told.add(str(refusal.value))

    made = {name: invited(owner, email=f"{name}@harbour.example") for name in ("used", "renewed", "revoked", "late")}
    kept = {name: offer(one) for name, one in made.items()}
    join(offer=kept["used"], account=make_account("nils@harbour.example"))
    renew_invitation(by=owner, invitation=made["renewed"].invitation)
    revoke_invitation(by=owner, invitation=made["revoked"].invitation)
    for name in ("used", "renewed", "revoked"):
        refused(kept[name])
        with pytest.raises(UnknownInvitation):
            offer(made[name])
    with time_machine.travel(timezone.now() + timedelta(days=15)):
        refused(kept["late"])
    with pytest.raises(UnknownInvitation) as unknown:
        offer_of_code("ABCD-EFGH-JKMN")
    assert told == {str(unknown.value)}


@pytest.mark.django_db(transaction=True)
def test_of_two_at_the_same_instant_one_joins(owner):
    kept = offer(invited(owner))
    accounts = [make_account(f"{name}@harbour.example") for name in ("nils", "nora")]
    outcomes = at_once([partial(_joined, kept, account) for account in accounts])
    assert sorted(outcomes) == [False, True]
    assert Membership.objects.filter(role="coach").count() == 1
    assert Invitation.objects.get().became in Membership.objects.filter(role="coach")


@pytest.mark.django_db(transaction=True)
def test_one_who_taps_twice_at_the_same_instant_joins_once(owner):
    kept, account = offer(invited(owner)), make_account("nils@harbour.example")
    outcomes = at_once([lambda: _joined(kept, account)] * 2)
    assert sorted(outcomes) == [False, True]
    assert Membership.objects.filter(account=account).count() == 1


@pytest.mark.django_db(transaction=True)
def test_one_who_sends_the_form_twice_at_the_same_instant_gets_one_account(owner):
    kept = offer(invited(owner))

    def anew():
        try:
            return bool(join_anew(offer=kept, email="nils@harbour.example", password=PASSWORD))
        except UnknownInvitation:
            return False

    assert sorted(at_once([anew, anew])) == [False, True]
    assert Account.objects.filter(email="nils@harbour.example").count() == 1
    assert Membership.objects.filter(role="coach").count() == 1


def _joined(kept, account) -> bool:
    try:
        return bool(join(offer=kept, account=account))
    except (UnknownInvitation, AlreadyOnStaff):
        return False


# ---- Addresses ----------------------------------------------------------------------------------------------------


def test_an_address_is_shown_by_the_mail_to_it_and_not_by_the_code(owner):
    made = invited(owner)
    by_mail = offer_of_letter(letter_for(made.invitation, "nils@harbour.example"))
    assert by_mail.address == "nils@harbour.example"
    member = join_anew(offer=by_mail, email="nils@harbour.example", password=PASSWORD)
    assert _address_of(member) == ("nils@harbour.example", True, True)


def test_who_only_has_the_code_shows_no_address(owner):
    """The staff have it too: it says nothing about who reads whose mail."""
    member = join_anew(offer=offer(invited(owner)), email="nils@harbour.example", password=PASSWORD)
    assert _address_of(member) == ("nils@harbour.example", False, True)


def test_a_mail_to_one_address_shows_no_other(owner):
    kept = offer_of_letter(letter_for(invited(owner).invitation, "nils@harbour.example"))
    member = join_anew(offer=kept, email="nora@harbour.example", password=PASSWORD)
    assert _address_of(member) == ("nora@harbour.example", False, True)


def _address_of(member):
    found = EmailAddress.objects.get(user=member.account)
    return found.email, found.verified, found.primary


def test_a_letter_ends_with_its_code_and_cannot_be_forged(owner, other_gym):
    made = invited(owner)
    letter = letter_for(made.invitation, "nils@harbour.example")
    renew_invitation(by=owner, invitation=made.invitation)
    for token in (letter, letter[:-1] + ("A" if letter[-1] != "A" else "B"), "a:b:c", ":"):
        with pytest.raises(UnknownInvitation):
            offer_of_letter(token)


@pytest.mark.parametrize("verified", [True, False])
def test_who_has_the_address_already_is_not_let_in_and_keeps_the_password(owner, other_coach, verified):
    EmailAddress.objects.filter(user=other_coach.account).update(verified=verified)
    kept = offer(invited(owner, email=other_coach.account.email))
    assert join_anew(offer=kept, email=other_coach.account.email.upper(), password="not the old one at all") is None
    other_coach.account.refresh_from_db()
    assert check_password(PASSWORD, other_coach.account.password)
    assert [member.gym for member in other_coach.account.memberships.all()] == [other_coach.gym]
    assert open_invitation(kept).used_at is None


def test_an_address_that_somebody_showed_to_be_theirs_is_taken(owner, coach):
    EmailAddress.objects.create(user=coach.account, email="cleo@home.example", verified=True)
    assert join_anew(offer=offer(invited(owner)), email="cleo@home.example", password=PASSWORD) is None


@pytest.mark.parametrize(
    ("wish", "refusal"),
    [
        ({"email": "nils"}, BadEmail),
        ({"password": "short"}, WeakPassword),
        ({"password": "nils@harbour.example"}, WeakPassword),
    ],
)
def test_what_is_refused_makes_no_account(owner, wish, refusal):
    kept = offer(invited(owner))
    with pytest.raises(refusal):
        join_anew(offer=kept, **{"email": "nils@harbour.example", "password": PASSWORD, **wish})
    assert Account.objects.count() == 1
    assert open_invitation(kept).used_at is None


def test_an_invitation_that_ends_meanwhile_makes_no_account(owner):
    made = invited(owner)
    kept = offer(made)
    revoke_invitation(by=owner, invitation=made.invitation)
    with pytest.raises(UnknownInvitation):
        join_anew(offer=kept, email="nils@harbour.example", password=PASSWORD)
    assert Account.objects.count() == 1


# ---- Who somebody is here already ---------------------------------------------------------------------------------


def test_a_coach_of_another_gym_coaches_here_too_with_the_same_account(owner, other_coach):
    member = join(offer=offer(invited(owner)), account=other_coach.account)
    assert member.account == other_coach.account
    assert member.person != other_coach.person
    other_coach.refresh_from_db()
    assert other_coach.ended_at is None


def test_an_owner_who_coaches_is_one_person_and_the_second_one_is_forgotten(owner):
    made = invited(owner, email="olga@home.example", name="Olga B.")
    member = join(offer=offer(made), account=owner.account)
    assert member.person == owner.person
    assert Invitation.objects.get().person == owner.person
    assert [person.full_name for person in Person.objects.all()] == ["Olga Brandt"]


def test_an_athlete_who_coaches_is_one_person(owner, athlete, athlete_member):
    member = join(offer=offer(invited(owner)), account=athlete_member.account)
    assert (member.person, member.role) == (athlete.person, "coach")
    assert {one.role for one in athlete_member.account.memberships.filter(ended_at=None)} == {"athlete", "coach"}


def test_an_account_coaches_once(owner, coach):
    kept = offer(invited(owner))
    with pytest.raises(AlreadyOnStaff, match="coach here already"):
        join(offer=kept, account=coach.account)
    assert open_invitation(kept).used_at is None


def test_a_coach_who_left_can_come_back(owner, coach):
    end_membership(by=owner, membership=coach)
    again = join(offer=offer(invited(owner)), account=coach.account)
    assert again.pk != coach.pk
    assert again.person == coach.person


def test_an_address_that_the_staff_did_not_know_is_noted(owner):
    made = invited(owner, email="")
    join(offer=offer(made), account=make_account("nils@home.example"))
    assert Person.objects.get(full_name="Nils Aho").email == "nils@home.example"


# ---- Athletes and guardians ---------------------------------------------------------------------------------------


def test_an_athlete_joins_as_themselves(coach, athlete):
    member = join_anew(
        offer=offer(invite_athlete(by=coach, athlete=athlete, email="")), email="ada@home.example", password=PASSWORD
    )
    assert member is not None
    assert (member.role, member.athlete, member.person) == (Role.ATHLETE, athlete, athlete.person)
    assert (member.may_log, member.may_sign_off) == (False, False)
    assert not RightsChange.objects.filter(membership=member).exists()


def test_an_athlete_has_one_log_in(coach, athlete, gym):
    kept = offer(invite_athlete(by=coach, athlete=athlete, email=""))
    make_login(athlete)
    with pytest.raises(AlreadyHasLogin):
        join(offer=kept, account=make_account("other@home.example"))


def test_two_athletes_do_not_share_a_log_in(coach, athlete_member, minor):
    make_consent(minor, by=coach, kind="login")
    kept = offer(invite_athlete(by=coach, athlete=minor, email=""))
    with pytest.raises(LoginTaken):
        join(offer=kept, account=athlete_member.account)


def test_an_athlete_whose_log_in_ended_gets_another(coach, athlete, athlete_member):
    end_login(by=coach, athlete=athlete)
    again = join(offer=offer(invite_athlete(by=coach, athlete=athlete, email="")), account=athlete_member.account)
    assert again != athlete_member
    assert (again.account, again.ended_at) == (athlete_member.account, None)


def test_a_new_guardian_sees_the_minor(coach, minor):
    kept = offer(invite_guardian(by=coach, athlete=minor, full_name="Gus Okafor", email=""))
    member = join(offer=kept, account=make_account("gus@home.example"))
    assert (member.role, member.person.full_name) == (Role.GUARDIAN, "Gus Okafor")
    assert member.wards.get(ended_at=None).athlete == minor


def test_a_guardian_has_one_log_in_for_two_children(coach, guardian, minor, gym):
    sister = make_athlete(gym, "Lou Okafor", birth_on=minor.person.birth_on)
    kept = offer(invite_guardian(by=coach, athlete=sister, full_name="Greta O.", email=""))
    assert join(offer=kept, account=guardian.account) == guardian
    assert {ward.athlete for ward in guardian.wards.all()} == {minor, sister}
    assert Person.objects.filter(full_name__startswith="Greta").count() == 1
    again = offer(invite_guardian(by=coach, athlete=sister, full_name="Greta O.", email=""))
    with pytest.raises(AlreadyGuardian):
        join(offer=again, account=guardian.account)


def test_a_guardian_whose_link_ended_can_be_invited_again(coach, guardian, minor):
    end_guardianship(by=coach, guardianship=guardian.wards.get())
    kept = offer(invite_guardian(by=coach, athlete=minor, full_name="Greta Okafor", email=guardian.account.email))
    again = join(offer=kept, account=guardian.account)
    assert again != guardian
    assert (again.person, again.ended_at) == (guardian.person, None)


def test_nobody_becomes_the_guardian_of_who_has_come_of_age(coach, gym):
    ward = make_athlete(gym, "Lou Falk", birth_on=years_before_today(17))
    kept = offer(invite_guardian(by=coach, athlete=ward, full_name="Gil Falk", email=""))
    ward.person.birth_on = years_before_today(18)
    ward.person.save()
    with pytest.raises(NotAMinor):
        join(offer=kept, account=make_account("gil@home.example"))
    assert not Guardianship.objects.exists()


def test_a_minor_is_not_their_own_guardian_nor_the_guardian_the_minor(coach, minor, guardian):
    own = make_login(minor)
    kept = offer(invite_guardian(by=coach, athlete=minor, full_name="Gus Okafor", email=""))
    with pytest.raises(OwnGuardian):
        join(offer=kept, account=own.account)
    end_login(by=coach, athlete=minor)
    make_consent(minor, by=coach, kind="login")
    as_minor = offer(invite_athlete(by=coach, athlete=minor, email=""))
    with pytest.raises(OwnGuardian):
        join(offer=as_minor, account=guardian.account)


def test_a_code_opens_no_log_in_once_the_guardians_yes_is_gone(coach, minor):
    make_consent(minor, by=coach, kind="login")
    kept = offer(invite_athlete(by=coach, athlete=minor, email=""))
    make_consent(minor, by=coach, kind="login", given=False)
    with pytest.raises(LoginNotAgreed):
        join(offer=kept, account=make_account("mia@home.example"))
    assert not Membership.objects.filter(role=Role.ATHLETE).exists()


def test_no_coach_takes_over_an_athletes_log_in_by_a_code_of_their_own(owner, coach, athlete, athlete_member):
    """Or a coach could end it, invite themself, and consent in the athlete's name."""
    end_login(by=coach, athlete=athlete)
    kept = offer(invite_athlete(by=coach, athlete=athlete, email=""))
    with pytest.raises(StaffAccount, match="an owner of the gym has to make this invitation"):
        join(offer=kept, account=coach.account)
    assert not Membership.objects.filter(athlete=athlete, ended_at=None).exists()
    by_owner = offer(invite_athlete(by=owner, athlete=athlete, email=""))
    assert join(offer=by_owner, account=coach.account).athlete == athlete


def test_nor_becomes_a_guardian_by_one(owner, coach, minor):
    kept = offer(invite_guardian(by=coach, athlete=minor, full_name="Cleo Adeyemi", email=""))
    with pytest.raises(StaffAccount):
        join(offer=kept, account=coach.account)
    by_owner = offer(invite_guardian(by=owner, athlete=minor, full_name="Cleo Adeyemi", email=""))
    assert join(offer=by_owner, account=coach.account).wards.get().athlete == minor


def test_who_was_a_coach_here_once_may_practise_here(coach, owner, athlete):
    end_membership(by=owner, membership=coach)
    other = make_member(owner.gym, Role.COACH, "Ines Roth", rights=("may_log",))
    member = join(offer=offer(invite_athlete(by=other, athlete=athlete, email="")), account=coach.account)
    assert member.athlete == athlete


def test_of_two_people_of_one_account_the_one_that_lasts_is_who_they_are(owner, coach, athlete):
    """In whichever order the rows were stored."""
    account = coach.account
    lasting = make_member(owner.gym, Role.GUARDIAN, "Cleo A.", email="cleo.a@home.example", account=account)
    end_membership(by=owner, membership=coach)
    made = invited(owner, email="cleo@harbour.example", name="Cleo Again")
    assert join(offer=offer(made), account=account).person == lasting.person


def test_one_account_coaches_in_one_gym_and_practises_in_another(owner, other_gym, other_coach):
    ada = make_athlete(other_gym, "Ada Lindqvist")
    account = make_member(owner.gym, Role.COACH, "Ada L.").account
    member = join(offer=offer(invite_athlete(by=other_coach, athlete=ada, email="")), account=account)
    assert {(one.gym.slug, one.role) for one in account.memberships.all()} == {
        ("harbour", "coach"),
        ("uptown", "athlete"),
    }
    assert member.athlete == ada
