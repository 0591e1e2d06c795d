"""Taking a lost second factor away."""

from collections.abc import Callable

import pytest
from allauth.mfa.models import Authenticator
from django.core import mail
from django.core.management import CommandError, call_command
from django.test import Client

from athletes.models import AuditEntry, Gym, Membership
from athletes.services.second_factors import NoFactor, NotTheirsToReset, reset_second_factor
from tests.factories.athletes import PASSWORD, Role, make_member, make_person
from tests.helpers.html import words_of

pytestmark = pytest.mark.django_db

SignIn = Callable[[Membership], Client]


def give_factor(member: Membership) -> None:
    Authenticator.objects.create(user=member.account, type="webauthn", data={"name": "phone"})
    Authenticator.objects.create(user=member.account, type="recovery_codes", data={"seed": "", "used_mask": 0})


def held(member: Membership) -> int:
    return Authenticator.objects.filter(user=member.account).count()


def acts() -> list[tuple[object, str, object]]:
    return [*AuditEntry.objects.order_by("position").values_list("actor", "act", "about")]


def test_all_factors_go_the_person_is_told_and_the_act_recorded(owner: Membership, coach: Membership):
    give_factor(coach)
    give_factor(owner)
    reset_second_factor(by=owner, membership=coach)
    assert (held(coach), held(owner)) == (0, 2)
    (message,) = mail.outbox
    assert (message.to, message.subject) == ([coach.account.email], "Your second factor was taken away")
    assert message.body.startswith("An owner of Harbour Hall has taken away the second factor of your account")
    assert acts() == [(owner.id, "second_factor_reset", coach.id)]


def test_every_sign_in_of_the_person_ends(owner: Membership, coach: Membership):
    client = Client()
    client.post("/account/sign-in/", {"login": coach.account.email, "password": PASSWORD})
    give_factor(coach)
    assert client.get("/skills/").status_code == 200
    reset_second_factor(by=owner, membership=coach)
    assert client.get("/skills/").status_code == 302


def test_where_there_is_none_nothing_happens(owner: Membership, coach: Membership):
    with pytest.raises(NoFactor):
        reset_second_factor(by=owner, membership=coach)
    assert (acts(), mail.outbox) == ([], [])


def test_nobody_takes_their_own_or_another_gyms_away(owner: Membership, other_coach: Membership, coach: Membership):
    for member in (owner, other_coach):
        give_factor(member)
        with pytest.raises(NotTheirsToReset):
            reset_second_factor(by=owner, membership=member)
        assert held(member) == 2


def test_who_is_on_the_staff_elsewhere_too_is_the_administrators(owner: Membership, coach: Membership, other_gym: Gym):
    """Or an owner of one gym could weaken the sign-in to another one."""
    give_factor(coach)
    elsewhere = Membership.objects.create(
        gym=other_gym, account=coach.account, person=make_person(other_gym, "Cleo A."), role=Role.COACH
    )
    with pytest.raises(NotTheirsToReset, match="Only the system administrator"):
        reset_second_factor(by=owner, membership=coach)
    elsewhere.role = Role.GUARDIAN
    elsewhere.save(update_fields=["role"])
    reset_second_factor(by=owner, membership=coach)
    assert held(coach) == 0


# ---- The page ------------------------------------------------------------------------------------------------
def test_an_owner_types_the_password_again_and_takes_it_away(owner: Membership, coach: Membership):
    give_factor(coach)
    client, page = Client(), f"/gym/staff/{coach.id}/factor/"
    client.post("/account/sign-in/", {"login": owner.account.email, "password": PASSWORD})
    assert client.get(page)["Location"].startswith("/account/confirm/?next=")
    assert client.post(page)["Location"].startswith("/account/confirm/?next=")
    assert held(coach) == 2
    asked = client.post("/account/confirm/", {"password": PASSWORD, "next": page}, follow=True)
    assert "The second factor of Cleo Adeyemi is taken away." in words_of(asked)  # what was sent before goes on
    assert held(coach) == 0
    assert "They have none" in words_of(client.get(page))


# ---- The command ---------------------------------------------------------------------------------------------
def test_the_administrator_does_it_for_the_only_owner(owner: Membership, capsys: pytest.CaptureFixture[str]):
    give_factor(owner)
    make_member(owner.gym, Role.GUARDIAN, "Olga Brandt", account=owner.account)
    call_command("reset_second_factor", owner.account.email.upper())
    assert held(owner) == 0
    assert "Done: passkeys, app and recovery codes are gone" in capsys.readouterr().out
    assert [(actor, act) for actor, act, _ in acts()] == [(None, "second_factor_reset")] * 2
    assert mail.outbox[0].body.startswith("The administrator of this site")


@pytest.mark.parametrize(("address", "sentence"), [
    ("nobody@harbour.example", "No account signs in"), ("olga@harbour.example", "no second factor"),
])  # fmt: skip
def test_the_command_says_what_is_wrong(owner: Membership, address: str, sentence: str):
    with pytest.raises(CommandError, match=sentence):
        call_command("reset_second_factor", address)
