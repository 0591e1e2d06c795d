"""Who signs off from a tablet: the coach who holds it, signed in as nobody else, and back to the same place."""

import re
from html import unescape
from urllib.parse import quote

import pytest
from django.test import Client
from django.urls import reverse

from athletes.services.staff import end_membership
from skills.models import SignOff
from tests.factories.athletes import PASSWORD, Role, make_member
from tests.factories.skills import library, meet, reach, step_of
from tests.helpers.html import elements, text_of, words_of

BACK = "/floor/#/class/01977d3c-0000-7000-8000-000000000001"
PASSED = {"decision": "passed", "clearance": "spotted"}


@pytest.fixture
def ready(gym, owner, coach, athlete):
    library(gym, owner)
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    return athlete


@pytest.fixture
def address(ready, coach):
    """The address to which the floor leads, in the hands of Cleo."""
    step = step_of(ready.gym, "pullover-3a")
    return f"{reverse('sign_off', args=[ready.id, step.id, 'finish'])}?next={quote(BACK)}&signer={coach.id}"


def decided():
    return [row.signed_by for row in SignOff.objects.filter(gate="finish", step__code="pullover-3a")]


def hidden(answer) -> dict[str, str]:
    """What the form for the decision, or the way to it, sends by itself."""
    fields = [one for one in elements(text_of(answer), "input", type="hidden") if one.attrs["name"] != "id"]
    return {one.attrs["name"]: unescape(one.attrs.get("value", "")) for one in fields}


def sign_in(client: Client, address: str, email: str):
    return client.post(address, {"login": email, "password": PASSWORD})


def test_who_holds_the_tablet_decides_and_goes_back_to_the_same_place(client_of, coach, address):
    client = client_of(coach)
    answer = client.get(address)
    assert answer.context["form"] is not None
    assert "holds the tablet" not in words_of(answer)
    assert f'href="{BACK}"' in text_of(answer)
    sent = {**hidden(answer), **PASSED}
    assert sent["signer"] == str(coach.id)
    response = client.post(address, sent)
    assert (response.status_code, response["Location"]) == (303, BACK)
    assert decided() == [coach]


def test_somebody_else_is_told_who_is_signed_in_and_who_holds_the_tablet(client_of, owner, address):
    answer = client_of(owner).get(address)
    assert answer.status_code == 200
    words = words_of(answer)
    assert "Cleo Adeyemi holds the tablet Signed in here is Olga Brandt." in words
    assert "First Cleo Adeyemi has to sign in here." in words
    assert answer.context["form"] is None
    assert "Record the decision" not in words


@pytest.mark.parametrize("more", [{}, {"signer": "coach"}])
def test_nothing_is_decided_as_somebody_else(client_of, owner, coach, address, more):
    sent = {**PASSED, **({"signer": str(coach.id)} if more else {}), "reason": "Quiet lats"}
    answer = client_of(owner).post(address, sent)
    assert answer.status_code == 403
    assert "Nothing was recorded." in words_of(answer)
    assert "What was typed: “Quiet lats”" in words_of(answer)
    assert decided() == []


def test_a_form_that_one_opened_is_not_decided_by_who_signed_in_meanwhile(client_of, owner, coach, address):
    plain = address.partition("?")[0]
    sent = {**hidden(client_of(coach).get(plain)), **PASSED}
    answer = client_of(owner).post(plain, sent)
    assert answer.status_code == 403
    assert "Cleo Adeyemi opened this form" in words_of(answer)
    assert decided() == []


def test_signing_in_as_the_holder_leads_back_to_the_page_and_from_there_to_the_floor(client_of, owner, coach, address):
    client = client_of(owner)
    way = hidden(client.get(address))["next"]
    out = client.post(reverse("account_logout"), {"next": way})
    assert (out.status_code, out["Location"]) == (302, way)
    assert way.startswith(reverse("account_login"))
    answer = sign_in(client, way, coach.account.email)
    assert (answer.status_code, answer["Location"]) == (302, address)
    again = client.get(answer["Location"])
    assert again.context["form"] is not None
    response = client.post(answer["Location"], {**hidden(again), **PASSED})
    assert response["Location"] == BACK
    assert decided() == [coach]


def test_who_is_not_signed_in_comes_to_the_page_and_back_to_the_floor(client, coach, address):
    led = client.get(address)
    assert led["Location"].startswith(reverse("account_login"))
    asked = client.get(led["Location"])
    answer = client.post(led["Location"], {**hidden(asked), "login": coach.account.email, "password": PASSWORD})
    there = client.get(answer["Location"])
    assert there.context["back"] == BACK
    assert client.post(answer["Location"], {**hidden(there), **PASSED})["Location"] == BACK


def test_who_signs_in_as_somebody_else_is_asked_again(client, owner, address):
    led = client.get(address)["Location"]
    there = client.get(sign_in(client, led, owner.account.email)["Location"])
    assert "Cleo Adeyemi holds the tablet" in words_of(there)


def test_of_two_memberships_of_one_person_the_one_that_holds_the_tablet_decides(client_of, gym, coach, address):
    as_owner = make_member(gym, Role.OWNER, "Cleo Adeyemi", email="second@harbour.example", account=coach.account)
    client = client_of(as_owner)
    answer = client.get(address)
    assert hidden(answer)["signer"] == str(coach.id)
    client.post(address, {**hidden(answer), **PASSED})
    assert decided() == [coach]


def test_a_holder_without_the_right_sees_no_form(client_of, coach_two, address):
    theirs = re.sub(r"signer=[^&]+", f"signer={coach_two.id}", address)
    client = client_of(coach_two)
    answer = client.get(theirs)
    assert answer.context["form"] is None
    assert "You do not hold the right to sign off in this gym." in words_of(answer)
    assert client.post(theirs, PASSED).status_code == 403


def test_a_holder_who_left_is_still_named(client_of, owner, coach, address):
    end_membership(by=owner, membership=coach)
    assert "Cleo Adeyemi holds the tablet" in words_of(client_of(owner).get(address))


@pytest.mark.parametrize("who", ["other_coach", "guardian"])
def test_who_is_no_coach_of_this_gym_cannot_be_waited_for(request, client_of, owner, address, who):
    theirs = re.sub(r"signer=[^&]+", f"signer={request.getfixturevalue(who).id}", address)
    assert client_of(owner).get(theirs).status_code == 404
    assert client_of(owner).get(re.sub(r"signer=[^&]+", "signer=cleo", address)).status_code == 404
