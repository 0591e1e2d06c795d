"""Private links from outside: shown once, exchanged at once, for one page to look at, and out as soon as they end."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from athletes.access.links import SESSION_KEY
from athletes.models import PrivateLink
from athletes.services.private_links import make_link, open_link, revoke_link, revoke_links, token_digest
from tests.factories.athletes import make_athlete, make_consent
from tests.factories.skills import library, pass_step
from tests.helpers.qr import read_back

ADDRESS = re.compile(r"http://testserver/link/([\w-]{43})/")
GONE = "This link opens nothing"


@pytest.fixture
def made(coach, athlete):
    return make_link(by=coach, athlete=athlete)


@pytest.fixture
def holder(gym, owner, made) -> Client:
    """A browser that opened Ada's link."""
    library(gym, owner)
    client = Client()
    assert client.get(opens(made)).status_code == 303
    return client


def opens(made) -> str:
    return reverse("link_open", args=[made.token])


def words(response) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


# ---- Made and shown ----------------------------------------------------------------------------------------------


def test_a_link_is_shown_once_in_words_and_as_a_picture_that_reads_the_same(client_of, coach, athlete):
    client, page = client_of(coach), reverse("private_links", args=[athlete.id])
    answer = client.post(page)
    assert answer.status_code == 201
    assert answer["Cache-Control"] == "no-store"
    html = answer.content.decode()
    (token,) = set(ADDRESS.findall(html))
    assert PrivateLink.objects.get().digest == token_digest(token)
    assert read_back(html[html.index("<svg") :]) == f"http://testserver/link/{token}/"
    again = client.get(page).content.decode()
    assert token not in again
    assert "not opened yet" in again


@pytest.mark.parametrize("who", ["athlete_member", "guardian"])
def test_athletes_and_guardians_make_and_take_back_their_own(  # noqa: PLR0917 (fixtures)
    request, client_of, athlete, minor, coach, who
):
    theirs = athlete if who == "athlete_member" else minor
    make_consent(minor, by=coach, kind="link")
    client = client_of(request.getfixturevalue(who))
    assert client.post(reverse("private_links", args=[theirs.id])).status_code == 201
    link = PrivateLink.objects.get()
    assert client.post(reverse("private_link_revoke", args=[link.id])).status_code == 303
    link.refresh_from_db()
    assert link.revoked_at


def test_without_consent_the_page_says_so_and_makes_none(client_of, guardian, minor):
    client, page = client_of(guardian), reverse("private_links", args=[minor.id])
    assert "There is no consent to a private link" in words(client.get(page))
    answer = client.post(page)
    assert answer.status_code == 422
    assert not PrivateLink.objects.exists()


@pytest.mark.parametrize("method", ["get", "post"])
def test_staff_who_may_not_log_make_none(client_of, reader, athlete, made, method):
    client = client_of(reader)
    assert getattr(client, method)(reverse("private_links", args=[athlete.id])).status_code == 403
    assert client.post(reverse("private_link_revoke", args=[made.link.id])).status_code == 403


@pytest.mark.parametrize("who", ["athlete_member", "guardian", "other_coach"])
def test_nobody_makes_or_takes_back_links_of_others(request, client_of, coach, who):
    bo = make_athlete(coach.gym, "Bo Li")
    link = make_link(by=coach, athlete=bo).link
    client = client_of(request.getfixturevalue(who))
    assert client.post(reverse("private_links", args=[bo.id])).status_code == 404
    assert client.post(reverse("private_link_revoke", args=[link.id])).status_code == 404
    link.refresh_from_db()
    assert link.revoked_at is None


# ---- Exchanged -----------------------------------------------------------------------------------------------------


def test_a_link_is_exchanged_for_an_address_without_it(made):
    client = Client()
    answer = client.get(opens(made))
    assert (answer.status_code, answer["Location"]) == (303, reverse("linked"))
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["Cache-Control"] == "no-store"
    assert made.token not in str(dict(client.session))
    made.link.refresh_from_db()
    assert made.link.opened_at


def test_the_session_is_a_fresh_one(made):
    client = Client()
    session = client.session
    session["joining"] = "something"
    session.save()
    before = session.session_key
    client.get(opens(made))
    assert client.session.session_key != before
    assert {*client.session.keys()} == {SESSION_KEY}


def test_looking_ahead_and_opening_again_spoil_nothing(made, gym):
    client = Client()
    head = client.head(opens(made))
    assert (head.status_code, head["Location"]) == (303, reverse("linked"))
    assert SESSION_KEY not in client.session
    made.link.refresh_from_db()
    assert made.link.opened_at is None
    for _ in range(2):
        assert client.get(opens(made), headers={"Sec-Purpose": "prefetch"}).status_code == 303
    assert client.get(reverse("linked")).status_code == 200
    assert client.post(opens(made)).status_code == 405


def test_expired_taken_back_and_unknown_links_look_alike(made, coach, athlete):
    late = make_link(by=coach, athlete=athlete)
    revoke_link(by=coach, link=late.link)
    pages = [Client().get(opens(late)), Client().get(reverse("link_open", args=["A" * 43]))]
    with time_machine.travel(made.link.until_at + timedelta(seconds=1)):
        pages.append(Client().get(opens(made)))
    assert {page.status_code for page in pages} == {404}
    assert len({words(page) for page in pages}) == 1
    assert GONE in words(pages[0])
    assert {page["Cache-Control"] for page in pages} == {"no-store"}


def test_who_tries_links_is_stopped(db):
    client = Client()
    statuses = [client.get(reverse("link_open", args=[f"{number:043}"])).status_code for number in range(22)]
    assert statuses == [404] * 20 + [429] * 2


# ---- Looked by -----------------------------------------------------------------------------------------------------


def test_the_page_shows_the_progress_and_leads_nowhere_that_is_shut(holder, athlete, coach):
    pass_step(coach, athlete, "pullover-1")
    answer = holder.get(reverse("linked"))
    html = answer.content.decode()
    assert answer.status_code == 200
    assert "Progress of number 1" in words(answer)
    assert "Harbour Hall" in words(answer)
    assert "The path so far" in words(answer)
    main = html[html.index("<main") :]
    for address in re.findall(r'href="(/[^"]*)"', main):
        assert holder.get(address).status_code == 200, address


def test_a_link_opens_nothing_else(holder, athlete):
    for name, arguments in (
        ("my_progress", []),
        ("progress_of", [athlete.id]),
        ("my_data", []),
        ("private_links", [athlete.id]),
        ("consents", [athlete.id]),
        ("who_sees_of", [athlete.id]),
        ("athlete", [athlete.id]),
        ("erasure_mine", []),
    ):
        answer = holder.get(reverse(name, args=arguments))
        assert (answer.status_code, answer["Location"].startswith(reverse("account_login"))) == (302, True), name
    assert holder.post(reverse("archive_mine")).status_code == 302
    assert holder.post(reverse("linked")).status_code == 405


def test_the_front_door_leads_to_the_page_of_the_link(holder):
    assert holder.get("/")["Location"] == reverse("linked")


def test_a_link_taken_back_is_out_at_the_next_request(holder, made, coach):
    revoke_link(by=coach, link=made.link)
    answer = holder.get(reverse("linked"))
    assert answer.status_code == 404
    assert GONE in words(answer)
    assert holder.get(reverse("who_sees")).status_code == 404
    assert holder.get("/")["Location"].startswith(reverse("account_login"))


def test_all_links_taken_back_are_out_at_once(holder, athlete, coach):
    revoke_links(athlete=athlete, by=coach)
    assert holder.get(reverse("linked")).status_code == 404


def test_a_link_that_ran_out_is_out_at_the_next_request(holder, made):
    PrivateLink.objects.update(until_at=made.link.made_at + timedelta(days=3))
    made.link.refresh_from_db()
    with time_machine.travel(made.link.until_at):
        assert holder.get(reverse("linked")).status_code == 404


def test_consent_withdrawn_is_out_at_the_next_request(holder, athlete, coach):
    make_consent(athlete, by=coach, kind="link", given=False)
    assert holder.get(reverse("linked")).status_code == 404


def test_who_was_never_let_in_is_asked_to_sign_in(client, db):
    for name in ("linked", "who_sees"):
        assert client.get(reverse(name))["Location"].startswith(reverse("account_login"))


def test_a_browser_forgets_the_link(holder):
    assert holder.post(reverse("link_leave")).status_code == 303
    assert holder.get(reverse("linked"))["Location"].startswith(reverse("account_login"))
    assert not holder.session.keys()


def test_another_link_takes_the_place_of_the_first(holder, gym, coach):
    holder.get(opens(make_link(by=coach, athlete=make_athlete(gym, "Bo Li"))))
    assert "Progress of number 2" in words(holder.get(reverse("linked")))


# ---- Beside a sign-in ------------------------------------------------------------------------------------------------


def test_who_is_signed_in_stays_so_until_they_choose(client_of, coach, made, gym, owner):
    library(gym, owner)
    client = client_of(coach)
    answer = client.get(opens(made))
    assert (answer.status_code, answer["Location"]) == (303, reverse("link_choose"))
    assert client.get(reverse("today")).status_code == 200
    assert client.get(reverse("linked")).status_code == 403
    assert "You opened a private link" in words(client.get(reverse("link_choose")))
    assert client.get(reverse("today")).status_code == 200
    assert client.post(reverse("link_choose"), {"go": "yes"})["Location"] == reverse("linked")
    assert client.get(reverse("linked")).status_code == 200
    assert client.get(reverse("today"))["Location"].startswith(reverse("account_login"))


def test_who_stays_signed_in_is_asked_once(client_of, coach, made):
    client = client_of(coach)
    client.get(opens(made))
    assert client.post(reverse("link_choose"), {"stay": "yes"}).status_code == 303
    assert client.get(reverse("link_choose"))["Location"] == reverse("home")
    assert client.get(reverse("today")).status_code == 200


def test_a_sign_in_after_a_link_does_not_stand_beside_it(holder, coach, athlete_member):
    holder.force_login(coach.account)
    assert holder.get(reverse("linked")).status_code == 403
    holder.force_login(athlete_member.account)
    assert holder.get(reverse("linked"))["Location"] == reverse("my_progress")


def test_an_offer_that_ended_meanwhile_opens_nothing(client_of, coach, made):
    client = client_of(coach)
    client.get(opens(made))
    revoke_link(by=coach, link=made.link)
    assert client.post(reverse("link_choose"), {"go": "yes"})["Location"] == reverse("home")
    assert client.get(reverse("today")).status_code == 200


def test_only_as_many_queries_as_the_page_and_the_link_take(holder, django_assert_max_num_queries):
    with django_assert_max_num_queries(33):
        assert holder.get(reverse("linked")).status_code == 200


def test_another_gyms_link_shows_that_gym(other_coach, made):
    theirs = make_link(by=other_coach, athlete=make_athlete(other_coach.gym, "Pia Roy"))
    assert open_link(token=theirs.token) == theirs.link
    client = Client()
    client.get(opens(theirs))
    assert "Uptown Loft" in words(client.get(reverse("who_sees")))
