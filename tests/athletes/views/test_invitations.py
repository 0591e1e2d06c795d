"""Inviting somebody from the pages: the code is shown once, mailed where there is an address, and renewed."""

import re
from datetime import timedelta
from smtplib import SMTPServerDisconnected

import pytest
import time_machine
from django.contrib.messages import get_messages
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.urls import reverse
from django.utils import timezone

from athletes.models import Invitation, Membership
from athletes.services.invitations import invite_athlete, invite_guardian, invite_staff, revoke_invitation
from athletes.services.joining import offer_of_code
from tests.factories.athletes import Role, make_member
from tests.factories.skills import library
from tests.helpers.qr import read_back

NEW = {"full_name": "Nils Aho", "email": "nils@harbour.example", "role": "coach", "rights": ["may_sign_off"]}
CODE = re.compile(r"(?<![\w-])[A-Z2-9]{4}-[A-Z2-9]{4}-[A-Z2-9]{4}(?![\w-])")  # no part of an id


def told(response) -> list[str]:
    return [str(message) for message in get_messages(response.wsgi_request)]


def code_on(response) -> str:
    (code,) = set(CODE.findall(response.content.decode()))
    return code


def test_a_coach_is_invited_and_the_code_shown_once(client_of, owner):
    response = client_of(owner).post(reverse("staff_invite"), NEW)
    assert response.status_code == 201
    assert response.headers["Cache-Control"] == "no-store"
    assert offer_of_code(code_on(response)).invitation == str(Invitation.objects.get().id)
    page = client_of(owner).get(reverse("staff")).content.decode()
    assert "Nils Aho" in page
    assert "Sent to nils@harbour.example." in page
    assert not CODE.findall(page)
    assert Membership.objects.count() == 1


def test_the_sheet_says_where_and_its_picture_leads_there(client_of, owner):
    response = client_of(owner).post(reverse("staff_invite"), NEW)
    page = response.content.decode()
    assert "http://testserver/join/</strong>" in page
    svg = re.search(r"<svg.*?</svg>", page, re.DOTALL)
    assert svg
    assert read_back(svg[0]) == f"http://testserver/join/{code_on(response).replace('-', '')}/"


def test_the_mail_is_plain_text_with_a_link_that_the_sheet_does_not_show(client_of, owner):
    response = client_of(owner).post(reverse("staff_invite"), NEW)
    (letter,) = mail.outbox
    assert (letter.to, letter.subject) == (["nils@harbour.example"], "[testserver] Harbour Hall invites you")
    assert letter.message().get_content_type() == "text/plain"
    assert code_on(response) in letter.body
    assert "http://testserver/join/\n" in letter.body
    (link,) = re.findall(r"http://testserver/join/\S{20,}", str(letter.body))
    assert link not in response.content.decode()
    assert "Nils" not in letter.body
    last = Invitation.objects.get().until_at.astimezone(owner.gym.zone)
    assert f"by {last.day} {last:%B %Y, %H:%M}. It works once" in letter.body
    assert "was also sent to" in response.content.decode()


def test_without_an_address_nothing_is_mailed(client_of, owner):
    response = client_of(owner).post(reverse("staff_invite"), {**NEW, "email": ""})
    assert response.status_code == 201
    assert mail.outbox == []
    assert "To be handed over." in client_of(owner).get(reverse("staff")).content.decode()


def test_a_mail_that_cannot_be_sent_loses_nothing(client_of, owner, monkeypatch, caplog):
    def refuse(_self, _messages):
        raise SMTPServerDisconnected("nils@harbour.example: mailbox unavailable")

    monkeypatch.setattr(EmailBackend, "send_messages", refuse)
    response = client_of(owner).post(reverse("staff_invite"), NEW)
    assert response.status_code == 201
    assert "could not be sent: hand the code over" in response.content.decode()
    assert offer_of_code(code_on(response))
    assert Invitation.objects.get().mailed_at is None
    assert [record.getMessage() for record in caplog.records if record.name.startswith("athletes.services")] == [
        "A mail about an invitation could not be sent: SMTPServerDisconnected"
    ]


def test_a_refusal_stands_beside_its_field_and_everything_typed_is_there(client_of, owner, coach):
    for changed, field in (({"email": coach.account.email}, "email"), ({"full_name": " "}, "full_name")):
        response = client_of(owner).post(reverse("staff_invite"), {**NEW, **changed})
        form = response.context["form"]
        assert response.status_code == 422
        assert list(form.errors) == [field]
        assert {name: form[name].value() for name in NEW} == {**NEW, **changed}


def test_an_address_of_another_gym_is_taken_like_any_other(client_of, owner, other_coach):
    """Nobody learns from here who has an account elsewhere."""
    pages = [
        client_of(owner).post(reverse("staff_invite"), {**NEW, "email": email}).content.decode()
        for email in (other_coach.account.email, "nobody@nowhere.example")
    ]
    alike = [
        re.sub(r"<svg.*?</svg>|value=\"\w{64}\"|\w{64}|[A-Z2-9-]{14}|\S+@\S+", "", page, flags=re.DOTALL)
        for page in pages
    ]
    assert alike[0] == alike[1]
    assert [letter.subject for letter in mail.outbox] == ["[testserver] Harbour Hall invites you"] * 2


def test_the_right_to_sign_off_is_given_for_chosen_skills(client_of, owner):
    library(owner.gym, owner)
    sent = {**NEW, "scope": "chosen", "sign_off_skills": ["bar-pullover"]}
    assert client_of(owner).post(reverse("staff_invite"), sent).status_code == 201
    assert Invitation.objects.get().sign_off_skills == ["bar-pullover"]
    refused = client_of(owner).post(reverse("staff_invite"), {**sent, "sign_off_skills": []})
    assert refused.context["form"].errors["sign_off_skills"]


def test_another_owner_is_invited(client_of, owner):
    assert client_of(owner).post(reverse("staff_invite"), {**NEW, "role": "owner"}).status_code == 201
    assert (Invitation.objects.get().role, Invitation.objects.get().rights) == ("owner", [])


@pytest.mark.parametrize("role", ["athlete", "guardian", "king", ""])
def test_a_role_that_is_none_of_the_staff_is_refused(client_of, owner, role):
    response = client_of(owner).post(reverse("staff_invite"), {**NEW, "role": role})
    assert list(response.context["form"].errors) == ["role"]
    assert not Invitation.objects.exists()


def test_an_athlete_is_invited_from_their_page(client_of, coach, athlete):
    athlete.person.email = "ada@home.example"
    athlete.person.save()
    address = reverse("athlete_login", args=[athlete.id])
    assert 'value="ada@home.example"' in client_of(coach).get(address).content.decode()
    response = client_of(coach).post(address, {"email": "ada@home.example"})
    assert response.status_code == 201
    assert mail.outbox[0].to == ["ada@home.example"]
    page = client_of(coach).get(reverse("athlete_change", args=[athlete.id])).content.decode()
    assert "own log-in" in page
    assert "Sent to ada@home.example." in page
    assert client_of(coach).post(address).status_code == 201  # a form without an address is an answer too


def test_an_athlete_with_a_log_in_is_told_of(client_of, coach, athlete, athlete_member):
    response = client_of(coach).post(reverse("athlete_login", args=[athlete.id]), {"email": ""})
    assert response.status_code == 422
    assert response.context["form"].non_field_errors() == ["Number 1 has a log-in already."]


def test_a_guardian_is_invited_for_a_minor_only(client_of, coach, athlete, minor):
    wish = {"full_name": "Gus Okafor", "email": "gus@home.example"}
    response = client_of(coach).post(reverse("athlete_guardian", args=[minor.id]), wish)
    assert response.status_code == 201
    assert "Gus Okafor" in client_of(coach).get(reverse("athlete_change", args=[minor.id])).content.decode()
    assert "Mia" not in mail.outbox[0].body
    refused = client_of(coach).post(reverse("athlete_guardian", args=[athlete.id]), wish)
    assert refused.context["form"].non_field_errors() == ["Number 1 is of age."]


@pytest.mark.parametrize("name", ["athlete_login", "athlete_guardian"])
def test_who_may_not_log_invites_nobody(client_of, reader, minor, name):
    address = reverse(name, args=[minor.id])
    assert [client_of(reader).get(address).status_code, client_of(reader).post(address).status_code] == [403, 403]


# ---- Renewed and taken back ---------------------------------------------------------------------------------------


@pytest.fixture
def made(owner):
    return invite_staff(by=owner, full_name="Nils Aho", email="nils@harbour.example", role="coach", rights=frozenset())


@pytest.fixture
def made_for_minor(coach, minor):
    return invite_guardian(by=coach, athlete=minor, full_name="Gus Okafor", email="")


def test_a_new_code_is_shown_and_mailed_and_the_old_one_ends(client_of, owner, made):
    response = client_of(owner).post(reverse("invitation_renew", args=[made.invitation.id]))
    assert response.status_code == 200
    code = code_on(response)
    assert code != made.code
    assert offer_of_code(code).invitation == str(made.invitation.id)
    assert code in mail.outbox[0].body


def test_what_ran_out_is_told_of_and_renewed(client_of, owner, made):
    with time_machine.travel(timezone.now() + timedelta(days=30)):
        client = client_of(owner)
        assert "The code ran out on " in client.get(reverse("staff")).content.decode()
        client.post(reverse("invitation_renew", args=[made.invitation.id]))
        assert "The code holds until " in client.get(reverse("staff")).content.decode()


def test_taking_back_leads_to_where_it_stood(client_of, owner, made, made_for_minor):
    coach, minor = made_for_minor.invitation.made_by, made_for_minor.invitation.athlete
    back = client_of(owner).post(reverse("invitation_revoke", args=[made.invitation.id]))
    assert (back.status_code, back.url) == (303, reverse("staff"))
    assert told(back) == ["The invitation does not work any more."]
    back = client_of(coach).post(reverse("invitation_revoke", args=[made_for_minor.invitation.id]))
    assert back.url == reverse("athlete_change", args=[minor.id])
    for page in (reverse("staff"), reverse("athlete_change", args=[minor.id])):
        assert "Take back" not in client_of(owner).get(page).content.decode()


def test_what_was_taken_back_is_not_renewed(client_of, owner, made):
    revoke_invitation(by=owner, invitation=made.invitation)
    response = client_of(owner).post(reverse("invitation_renew", args=[made.invitation.id]))
    assert (response.status_code, response.url) == (303, reverse("staff"))
    assert told(response) == ["This invitation was used or taken back a moment ago."]


@pytest.mark.parametrize(
    ("who", "statuses"),
    [("coach", [404, 404]), ("reader", [403] * 4), ("athlete_member", [403] * 4), ("stranger", [403] * 4)],
)
def test_nobody_changes_an_invitation_whose_it_is_not(request, made, made_for_minor, who, statuses):
    client = request.getfixturevalue("client_of")(request.getfixturevalue(who))
    invitations = [made.invitation] if who == "coach" else [made.invitation, made_for_minor.invitation]
    addresses = [reverse(f"invitation_{act}", args=[one.id]) for one in invitations for act in ("renew", "revoke")]
    assert [client.post(address).status_code for address in addresses] == statuses
    assert offer_of_code(made.code)
    assert offer_of_code(made_for_minor.code)


@pytest.mark.parametrize("name", ["invitation_renew", "invitation_revoke"])
def test_nothing_is_changed_by_looking_or_from_another_gym(client_of, other_gym, made, made_for_minor, name):
    staffs, minors = (reverse(name, args=[one.invitation.id]) for one in (made, made_for_minor))
    assert client_of(made.invitation.made_by).get(staffs).status_code == 405
    stranger = client_of(make_member(other_gym, Role.OWNER, "Oona Varga"))
    assert [stranger.post(staffs).status_code, stranger.post(minors).status_code] == [404, 404]
    assert offer_of_code(made.code)
    assert offer_of_code(made_for_minor.code)


def test_a_coach_sees_no_invitation_of_the_staff_and_another_gym_none(client_of, owner, coach, other_gym, made):
    assert client_of(coach).get(reverse("staff")).status_code == 403
    page = client_of(make_member(other_gym, Role.OWNER, "Oona Varga")).get(reverse("staff")).content.decode()
    assert "Nils Aho" not in page


def test_inviting_has_its_limit(client_of, coach, athlete, settings):
    settings.ACCOUNT_RATE_LIMITS = {"invite": "2/h/user"}
    client, address = client_of(coach), reverse("athlete_login", args=[athlete.id])
    assert [client.post(address).status_code for _ in range(3)] == [201, 201, 429]


def test_the_lists_take_as_many_queries_for_three_as_for_one(
    client_of, owner, coach, minor, django_assert_max_num_queries
):
    client = client_of(owner)
    pages = [reverse("staff"), reverse("athlete_change", args=[minor.id])]
    for page in pages:
        client.get(page)

    def asked(page):
        with django_assert_max_num_queries(40) as counted:
            assert client.get(page).status_code == 200
        return len(counted)

    counts = []
    for names in (["Gus Okafor"], ["Gil Okafor", "Gwen Okafor"]):
        for name in names:
            invite_staff(by=owner, full_name=name, email="", role="coach", rights=frozenset())
            invite_guardian(by=coach, athlete=minor, full_name=name, email="")
        counts.append([asked(page) for page in pages])
    assert counts[0] == counts[1]


def test_an_invitation_to_a_log_in_stands_once(client_of, coach, athlete):
    invite_athlete(by=coach, athlete=athlete, email="")
    invite_athlete(by=coach, athlete=athlete, email="ada@home.example")
    page = client_of(coach).get(reverse("athlete_change", args=[athlete.id])).content.decode()
    assert page.count("own log-in") == 1
