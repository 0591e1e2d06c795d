"""How long a sign-in lasts, where it ends, and where one is signed in (ASVS 5.0, chapter 7)."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from athletes.access.session_limits import SEEN_EVERY, end_sign_ins
from athletes.models import CoachCode, Membership
from tests.factories.athletes import PASSWORD, Role, make_person
from tests.helpers.html import elements, words_of

pytestmark = pytest.mark.django_db

Answer = Any  # what the test client gives back
SIGN_IN = "/account/sign-in/"
IDLE = "You were signed out because nothing was asked for in a long time."
OVER = "You were signed out because a sign-in lasts only so long."


def signed_in(who: Membership, **more: str) -> Client:
    client = Client(headers={"user-agent": more.pop("browser", "a browser")})
    client.post(SIGN_IN, {"login": who.account.email, "password": PASSWORD})
    return client


def is_in(client: Client) -> bool:
    return client.get("/skills/").status_code == 200


@pytest.fixture
def who(request: pytest.FixtureRequest) -> Membership:
    found: Membership = request.getfixturevalue(request.param)
    return found


def came_back(who: Membership, *gaps: timedelta) -> tuple[Client, Answer]:
    """The browser of somebody who signed in and came back after each of these gaps, and what they then got."""
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in(who)
        for gap in gaps[:-1]:
            clock.shift(gap)
            assert is_in(client)
        clock.shift(gaps[-1])
        return client, client.get("/skills/")


@pytest.mark.parametrize(("who", "idle"), [
    ("owner", timedelta(hours=12)), ("coach", timedelta(hours=12)),
    ("athlete_member", timedelta(days=14)), ("guardian", timedelta(days=14)),
], indirect=["who"])  # fmt: skip
def test_a_sign_in_that_lies_idle_ends(who: Membership, idle: timedelta):
    assert came_back(who, idle)[1].status_code == 200
    client, answer = came_back(who, idle + timedelta(seconds=1))
    assert answer["Location"] == f"{SIGN_IN}?next=/skills/"
    assert IDLE in words_of(client.get(SIGN_IN))


def test_a_page_that_asks_by_itself_keeps_nobody_signed_in(coach: Membership):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in(coach)
        for _ in range(2):
            clock.shift(timedelta(hours=5))
            assert client.get("/skills/", headers={"Asks-By-Itself": "1"}).status_code == 200
        clock.shift(timedelta(hours=3))
        assert not is_in(client)


@pytest.mark.parametrize(("who", "gap", "times"), [
    ("coach", timedelta(hours=12), 14), ("athlete_member", timedelta(days=10), 3),
], indirect=["who"])  # fmt: skip
def test_a_sign_in_ends_after_so_long_however_busy(who: Membership, gap: timedelta, times: int):
    assert came_back(who, *[gap] * times)[1].status_code == 200
    client, answer = came_back(who, *[gap] * times, timedelta(seconds=1))
    assert answer["Location"] == f"{SIGN_IN}?next=/skills/"
    assert OVER in words_of(client.get(SIGN_IN))


def test_who_coaches_anywhere_has_the_limits_of_staff(athlete_member: Membership, other_gym):
    Membership.objects.create(
        gym=other_gym, account=athlete_member.account, person=make_person(other_gym, "Ada L."), role=Role.COACH
    )
    assert came_back(athlete_member, timedelta(hours=12, seconds=1))[1].status_code == 302


def test_the_limits_are_settings(settings, coach: Membership):
    settings.STAFF_IDLE_HOURS = 1
    assert came_back(coach, timedelta(minutes=61))[1].status_code == 302


def test_who_signs_in_again_comes_back_to_the_page_and_reads_the_sentence_no_more(coach: Membership):
    client, sent = came_back(coach, timedelta(hours=13))
    page = client.get(sent["Location"])
    (kept,) = {field.attrs["value"] for field in elements(page.content.decode(), "input", name="next")}
    answer = client.post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD, "next": kept})
    assert answer["Location"] == "/skills/"
    assert is_in(client)
    client.post("/account/sign-out/")
    assert IDLE not in words_of(client.get(SIGN_IN))


@pytest.mark.parametrize(("page", "next_"), [
    ("http://testserver/my-code/", "/my-code/"), ("http://elsewhere.example/my-code/", "/"), ("", "/"), ("//x", "/"),
])  # fmt: skip
def test_a_form_that_comes_too_late_leads_back_to_its_page_and_stores_nothing(coach: Membership, page: str, next_: str):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in(coach)
        clock.shift(timedelta(hours=13))
        sent = client.post("/my-code/", {"code": "402917"}, headers={"referer": page})
        assert (sent.status_code, sent["Location"]) == (303, f"{SIGN_IN}?next={next_.replace('/', '%2F')}")
        assert IDLE in words_of(client.get(sent["Location"]))
    assert not CoachCode.objects.exists()


def test_a_sign_in_form_that_comes_with_an_old_sign_in_signs_in(coach: Membership):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in(coach)
        clock.shift(timedelta(hours=13))
        assert client.post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD})["Location"] == "/"
        assert is_in(client)


def test_a_sign_in_of_unknown_age_is_over(client_of: Callable[[Membership], Client], coach: Membership):
    client = client_of(coach)
    session = client.session
    del session["signed_in_at"]
    session.save()
    assert not is_in(client)


def test_a_page_that_reads_writes_down_only_every_few_minutes_that_somebody_was_seen(coach: Membership):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in(coach)
        seen = UserSession.objects.get().last_seen_at
        clock.shift(SEEN_EVERY - timedelta(seconds=1))
        is_in(client)
        assert UserSession.objects.get().last_seen_at == seen
        clock.shift(timedelta(seconds=1))
        is_in(client)
        assert UserSession.objects.get().last_seen_at == seen + SEEN_EVERY


def test_the_store_keeps_a_session_longer_than_the_longest_idle_time():
    assert timedelta(days=settings.MEMBER_IDLE_DAYS).total_seconds() < settings.SESSION_COOKIE_AGE


# ---- Ends ----------------------------------------------------------------------------------------------------
def test_signing_in_takes_a_new_key(client: Client, coach: Membership):
    client.get("/account/safety/passkeys/sign-in/", headers={"Accept": "application/json"})
    before = client.session.session_key
    client.post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD})
    assert before
    assert client.session.session_key != before
    assert not Session.objects.filter(pk=before).exists()


def test_signing_out_everywhere_else_leaves_this_browser(coach: Membership, owner: Membership):
    here, there, other = signed_in(coach, browser="here"), signed_in(coach, browser="there"), signed_in(owner)
    page = words_of(here.get("/account/sessions/"))
    assert "This browser now here" in page
    assert "Another browser there" in page
    answer = here.post("/account/sessions/", follow=True)
    assert "You are signed out everywhere else." in words_of(answer)
    assert [is_in(client) for client in (here, there, other)] == [True, False, True]


def test_a_new_password_signs_out_everywhere_else(coach: Membership):
    here, there = signed_in(coach), signed_in(coach)
    new = "thumbs around the bar"
    here.post("/account/password/", {"oldpassword": PASSWORD, "password1": new, "password2": new})
    assert [is_in(client) for client in (here, there)] == [True, False]


def test_an_account_that_is_switched_off_is_out_at_once(coach: Membership):
    client = signed_in(coach)
    coach.account.is_active = False
    coach.account.save(update_fields=["is_active"])
    assert not is_in(client)


def test_all_sign_ins_of_an_account_end(coach: Membership, owner: Membership):
    clients = signed_in(coach), signed_in(coach), signed_in(owner)
    end_sign_ins(coach.account_id)
    assert [is_in(client) for client in clients] == [False, False, True]


def test_nobody_sees_where_somebody_else_is_signed_in(coach: Membership, owner: Membership):
    signed_in(coach, browser="the coach's")
    assert "the coach's" not in words_of(signed_in(owner).get("/account/sessions/"))


# ---- Cookies and copies ----------------------------------------------------------------------------------------
def test_cookies_are_out_of_reach_for_scripts_and_other_sites(client: Client, coach: Membership):
    client.get(SIGN_IN)
    client.post(SIGN_IN, {"login": coach.account.email, "password": PASSWORD})
    assert {*client.cookies} == {"csrftoken", "sessionid"}
    for cookie in client.cookies.values():
        assert (cookie["httponly"], cookie["samesite"], cookie["domain"], cookie["path"]) == (True, "Lax", "", "/")


def test_one_browser_is_signed_out_and_the_others_go_on(coach: Membership):
    here, there, elsewhere = signed_in(coach), signed_in(coach), signed_in(coach)
    keys = {browser: UserSession.objects.get(session_key=browser.session.session_key) for browser in (here, there)}
    page = here.get("/account/sessions/").content.decode()
    assert f"/account/sessions/{keys[there].pk}/end/" in page
    assert f"/account/sessions/{keys[here].pk}/end/" not in page
    answer = here.post(f"/account/sessions/{keys[there].pk}/end/", follow=True)
    assert "That browser is signed out." in words_of(answer)
    assert [browser.get("/skills/").status_code for browser in (here, there, elsewhere)] == [200, 302, 200]
    assert here.post(f"/account/sessions/{keys[there].pk}/end/").status_code == 303


def test_nobody_signs_out_somebody_else(coach: Membership, owner: Membership):
    mine, theirs = signed_in(coach), signed_in(owner)
    entry = UserSession.objects.get(session_key=theirs.session.session_key)
    mine.post(f"/account/sessions/{entry.pk}/end/")
    assert theirs.get("/skills/").status_code == 200
    assert Client().post(f"/account/sessions/{entry.pk}/end/").status_code == 302
    assert theirs.get("/skills/").status_code == 200


PAGES = ("/account/safety/", "/account/sessions/", "/account/address/", "/account/password/", "/account/confirm/", "/")


@pytest.mark.parametrize("page", PAGES)
def test_no_copy_of_a_personal_page_is_kept(coach: Membership, page: str):
    answer = signed_in(coach).get(page, follow=True)
    assert answer.status_code == 200
    assert "no-store" in answer["Cache-Control"]
