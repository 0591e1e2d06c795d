"""Who can see what, what somebody can do about it, and what is kept about whom: told by what is in force."""

import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.core.kept import BARE_TABLES, OUTSIDE, TABLES, Erasing
from athletes.services.private_links import make_link, revoke_link
from athletes.services.tokens import make_token, revoke_token
from tests.factories.athletes import make_consent, make_guardian, make_login
from tests.helpers.floor import enrolled


def words(response) -> str:
    assert response.status_code == 200
    return " ".join(re.sub(r"<[^>]+>", "", response.content.decode()).split())


@pytest.fixture
def told(client_of, minor, guardian):
    """What Mia's guardian reads."""
    return lambda: words(client_of(guardian).get(reverse("who_sees_of", args=[minor.id])))


def test_staff_stand_by_name_role_and_rights(told, owner, coach, coach_two, reader):
    page = told()
    assert "Olga Brandt, ownerMay do everything" in page
    assert "Cleo Adeyemi, coachMay write down attempts, cautions and consents; decide who may try a step." in page
    assert "Timo Laine, coachMay write down attempts, cautions and consents." in page
    assert "Rhea Nagy, coachMay only read." in page


def test_who_left_the_staff_is_gone_and_others_gyms_never_were(told, coach, other_coach, owner):
    assert "Cleo Adeyemi" in told()
    coach.ended_at = timezone.now()
    coach.save()
    page = told()
    assert "Cleo Adeyemi" not in page
    assert "Otis Moreau" not in page


def test_guardians_and_log_ins_are_named(told, minor):
    assert "Greta Okafor, guardian, until the athlete is 18" in told()
    assert "has no log-in" in told()
    make_guardian(minor, "Gus Okafor")
    make_login(minor)
    assert "Gus Okafor, guardian" in told()
    assert "with a log-in of their own" in told()


def test_links_stand_there_until_they_are_taken_back(told, minor, coach):
    assert "No private link is in force." in told()
    make_consent(minor, by=coach, kind="link")
    link = make_link(by=coach, athlete=minor).link
    assert "by Cleo Adeyemi, until" in told()
    revoke_link(by=coach, link=link)
    assert "No private link is in force." in told()


def test_tablets_and_keys_stand_there_while_they_work(told, owner):
    assert "No tablet is let in. No program has a key." in told()
    enrolled(owner, name="wall")
    key = make_token(by=owner, name="door").token
    page = told()
    assert "Tablet “wall”" in page
    assert "the key “door”" in page
    revoke_token(by=owner, token=key)
    assert "No program has a key." in told()


def test_what_everybody_sees_follows_the_consents(told, minor, guardian):
    assert "number 1 and M. O." in told()
    assert "initials and number, no name" in told()
    make_consent(minor, by=guardian, kind="board", extent="full_name")
    make_consent(minor, by=guardian, kind="reports")
    page = told()
    assert "number 1 and Mia Okafor" in page
    assert "monthly reports show the name" in page
    make_consent(minor, by=guardian, kind="board", extent="number")
    assert "show number 1 alone" in told()


def test_by_a_link_guardians_and_makers_stand_without_names(coach, minor, guardian):
    make_consent(minor, by=coach, kind="link")
    made = make_link(by=guardian, athlete=minor)
    client = Client()
    client.get(reverse("link_open", args=[made.token]))
    page = words(client.get(reverse("who_sees")))
    assert "A guardian, until" in page
    assert "(this one)" in page
    assert "Greta" not in page
    assert "Mia Okafor" not in page


def test_an_athlete_reads_their_own_and_a_guardian_chooses(client_of, athlete, athlete_member, guardian):
    client = client_of(athlete_member)
    assert "number 1 and Ada Lindqvist" in words(client.get(reverse("who_sees")))
    assert words(client.get(reverse("who_sees_of", args=[athlete.id]))).startswith("Who can see what")
    assert client_of(guardian).get(reverse("who_sees"))["Location"] == reverse("my_data")


def test_the_page_takes_as_many_queries_for_three_as_for_one(  # noqa: PLR0917 (fixtures)
    client_of, minor, guardian, coach, owner, django_assert_num_queries
):
    client, page = client_of(guardian), reverse("who_sees_of", args=[minor.id])
    make_consent(minor, by=coach, kind="link")
    make_link(by=coach, athlete=minor)
    client.get(page)
    with django_assert_num_queries(11):
        client.get(page)
    for name in ("one", "two", "three"):
        make_guardian(minor, f"{name.title()} Okafor")
        make_link(by=coach, athlete=minor)
        make_token(by=owner, name=name)
    with django_assert_num_queries(11):
        client.get(page)


def test_ones_data_leads_to_everything_that_can_be_done(  # noqa: PLR0917 (fixtures)
    client_of, athlete, athlete_member, guardian, minor, coach
):
    own = client_of(athlete_member).get(reverse("my_data")).content.decode()
    for name in ("who_sees_of", "consents", "private_links"):
        assert reverse(name, args=[athlete.id]) in own
    for name in ("archive_mine", "erasure_mine", "kept", "usersessions_list"):
        assert f'"{reverse(name)}"' in own
    wards = client_of(guardian).get(reverse("my_data")).content.decode()
    for name in ("who_sees_of", "consents", "private_links", "archive_ward", "erasure_ward"):
        assert reverse(name, args=[minor.id]) in wards
    staff = client_of(coach).get(reverse("my_data")).content.decode()
    assert reverse("archive_mine") in staff


# ---- What is kept --------------------------------------------------------------------------------------------------


def test_a_stranger_reads_of_every_table_about_people(client, db):
    page = words(client.get(reverse("kept")))
    for line in (*TABLES.values(), BARE_TABLES["gymtrack_cache"], *OUTSIDE):
        if line.erasing is not Erasing.NONE or line in OUTSIDE:
            assert line.what.split("’")[0] in page.replace("&#x27;", "’"), line.what
    for law in ("art. 5", "art. 6", "art. 8", "art. 9", "art. 15", "17", "20", "16 CFR part 312", "no legal advice"):
        assert law in page
    assert "12 months after somebody left" in page


def test_members_read_their_own_gyms_settings(client_of, athlete_member, gym):
    gym.keep_months_after_leaving, gym.keep_pain_notes_days = 1, 30
    gym.adult_age_years, gym.own_data_age_years = 20, 15
    gym.save()
    page = words(client_of(athlete_member).get(reverse("kept")))
    assert "In Harbour Hall, by the settings of today." in page
    assert "names and words until 1 month after somebody left" in page
    assert "have ended 30 days" in page
    assert "under 20 a guardian decides" in page
    assert "under 15 a guardian decides" in page


def test_by_a_link_too(coach, athlete):
    coach.gym.keep_pain_notes_days = 31
    coach.gym.save()
    client = Client()
    client.get(reverse("link_open", args=[make_link(by=coach, athlete=athlete).token]))
    assert "have ended 31 days" in words(client.get(reverse("kept")))


@pytest.mark.parametrize("address", ["/account/sign-in/", "/join/", "/nowhere/"])
def test_every_page_leads_there(client, gym, address):
    assert f'href="{reverse("kept")}"' in client.get(address).content.decode()
