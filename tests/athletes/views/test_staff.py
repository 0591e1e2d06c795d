import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from tests.factories.athletes import PASSWORD, Role, make_member
from tests.factories.skills import library


def told(response) -> list[str]:
    return [str(message) for message in get_messages(response.wsgi_request)]


def test_the_list_says_what_each_may_do(client_of, owner, coach, other_coach):
    page = client_of(owner).get(reverse("staff")).content.decode()
    assert "May log attempts, sign off steps and give clearance." in page
    assert "May do everything in this gym." in page
    assert other_coach.person.full_name not in page


def test_all_rights_can_be_taken_away(client_of, owner, coach):
    response = client_of(owner).post(reverse("staff_rights", args=[coach.id]))
    assert response.status_code == 303
    coach.refresh_from_db()
    assert (coach.may_log, coach.may_sign_off) == (False, False)


def test_an_unknown_right_is_refused(client_of, owner, coach):
    response = client_of(owner).post(reverse("staff_rights", args=[coach.id]), {"rights": ["may_fly"]})
    assert response.status_code == 422
    assert "may_fly" in response.context["form"].errors["rights"][0]


def test_an_owner_has_no_rights_to_tick(client_of, owner):
    response = client_of(owner).post(reverse("staff_rights", args=[owner.id]), {"rights": ["may_log"]})
    assert response.status_code == 422
    assert response.context["form"].non_field_errors() == [
        "Only a coach's rights can be changed; an owner has them all."
    ]


def test_the_right_to_sign_off_is_given_for_chosen_skills_or_for_every_one(client_of, owner, coach, gym):
    library(gym, owner)
    client, address = client_of(owner), reverse("staff_rights", args=[coach.id])
    page = client.get(address).content.decode()
    assert 'value="bar-pullover"' in page
    sent = {"rights": ["may_sign_off"], "scope": "chosen", "sign_off_skills": ["bar-pullover", "l-hold"]}
    assert client.post(address, sent).status_code == 303
    coach.refresh_from_db()
    assert coach.sign_off_skills == ["bar-pullover", "l-hold"]
    assert "give clearance (Bar pullover, L-hold only)" in client.get(reverse("staff")).content.decode()
    assert client.get(address).context["form"]["sign_off_skills"].value() == ["bar-pullover", "l-hold"]
    assert client.post(address, {**sent, "scope": "every"}).status_code == 303
    coach.refresh_from_db()
    assert coach.sign_off_skills is None


@pytest.mark.parametrize(
    ("changed", "errors"),
    [
        ({"sign_off_skills": ["front-lever"]}, {"sign_off_skills": ["This gym teaches no skill “front-lever”."]}),
        ({}, {"sign_off_skills": ["Choose a skill at least, or every skill, for the right to sign off."]}),
        ({"scope": ""}, {"scope": ["Choose every skill, or only the skills chosen below."]}),
    ],
    ids=["unknown", "none", "not said"],
)
def test_skills_that_do_not_fit_are_refused_in_words(client_of, owner, coach, changed, errors):
    library(owner.gym, owner)
    sent = {"rights": ["may_sign_off"], "scope": "chosen", **changed}
    response = client_of(owner).post(reverse("staff_rights", args=[coach.id]), sent)
    assert response.status_code == 422
    assert response.context["form"].errors == errors
    coach.refresh_from_db()
    assert (coach.may_log, coach.sign_off_skills) == (True, None)


def test_ending_a_membership_is_asked_first(client_of, owner, coach):
    client, address = client_of(owner), reverse("staff_end", args=[coach.id])
    assert "<bdi>Cleo Adeyemi</bdi> leaves?" in client.get(address).content.decode()
    coach.refresh_from_db()
    assert coach.ended_at is None
    assert client.post(address).status_code == 303
    coach.refresh_from_db()
    assert coach.ended_at is not None
    assert client_of(coach).get(reverse("roster")).status_code == 403


def test_the_last_owner_is_told_why_not(client_of, owner):
    response = client_of(owner).post(reverse("staff_end", args=[owner.id]))
    assert told(response) == ["This is the gym's only owner. A gym cannot be without one."]


def test_an_owner_who_ends_their_own_membership_is_signed_out_and_told(client, owner):
    make_member(owner.gym, Role.OWNER, "Ines Roth")
    client.post(reverse("account_login"), {"login": owner.account.email, "password": PASSWORD})
    response = client.post(reverse("staff_end", args=[owner.id]))
    assert (response.status_code, response.url) == (303, reverse("staff"))
    page = client.get(response.url, follow=True)
    assert page.redirect_chain[0][0].startswith(reverse("account_login"))
    assert "Olga Brandt does not belong to the staff any more." in page.content.decode()


def test_an_owner_who_belongs_to_another_gym_too_stays_signed_in(client, owner, other_gym):
    make_member(owner.gym, Role.OWNER, "Ines Roth")
    there = make_member(other_gym, Role.COACH, "Olga Brandt", account=owner.account)
    client.post(reverse("account_login"), {"login": owner.account.email, "password": PASSWORD})
    assert client.post(reverse("staff_end", args=[owner.id])).status_code == 303
    assert client.get(reverse("roster")).context["member"] == there
