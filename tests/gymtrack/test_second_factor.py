"""The second factor: an app for codes, recovery codes, who must have one, and what is kept of it."""

import base64
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from allauth.mfa.adapter import get_adapter
from allauth.mfa.models import Authenticator
from django.core import mail
from django.test import Client
from django.utils import timezone

from athletes.models import Gym, Membership
from athletes.services.coach_codes import set_code
from athletes.services.tokens import make_token
from tests.factories.athletes import PASSWORD, make_person
from tests.helpers import floor
from tests.helpers.api import Api
from tests.helpers.html import elements, words_of
from tests.helpers.qr import read_back
from tests.helpers.totp import code_at

pytestmark = pytest.mark.django_db

Answer = Any  # what the test client gives back
SignIn = Callable[[Membership], Client]
SAFETY, APP, CODE, AGAIN = "/account/safety/", "/account/safety/app/add/", "/account/safety/code/", "/account/confirm/"
NEXT_CODE = timedelta(seconds=30)
CODES = re.compile(r">(\d{8})<")


def sign_in(client: Client, who: Membership, **more: str) -> Answer:
    return client.post("/account/sign-in/", {"login": who.account.email, "password": PASSWORD, **more})


def confirmed(client: Client, page: str) -> Answer:
    """Type the password that stands before a page, and come to the page."""
    assert client.get(page)["Location"] == f"{AGAIN}?next={page.replace('/', '%2F')}"
    return client.post(AGAIN, {"password": PASSWORD, "next": page}, follow=True)


def now() -> float:
    return timezone.now().timestamp()


def with_app(who: Membership) -> tuple[Client, str]:
    """A browser that is signed in, and the secret of the app that was set up in it."""
    client = Client()
    sign_in(client, who)
    secret = secret_on(confirmed(client, APP))
    client.post(APP, {"code": code_at(secret, now())})
    return client, secret


def secret_on(page: Answer) -> str:
    return str(re.search(r"[A-Z2-7]{32}", words_of(page))[0])  # type: ignore[index]


# ---- The app -----------------------------------------------------------------------------------------------------
@pytest.mark.django_db(transaction=True)
def test_an_app_is_set_up_by_its_first_code_and_gives_recovery_codes_once(coach: Membership):
    client = Client()
    sign_in(client, coach)
    page = confirmed(client, APP)
    secret = secret_on(page)
    answer = client.post(APP, {"code": code_at(secret, now())}, follow=True)
    assert answer.redirect_chain == [("/account/safety/recovery-codes/", 302)]
    assert len({*CODES.findall(answer.content.decode())}) == 10
    again = client.get("/account/safety/recovery-codes/")
    assert CODES.findall(again.content.decode()) == []
    assert "10 of 10 are left" in words_of(again)
    assert [message.subject.partition("] ")[2] for message in mail.outbox] == ["A second factor was added"]


def test_the_qr_code_is_ours_and_holds_the_secret(coach: Membership):
    client = Client()
    sign_in(client, coach)
    page = confirmed(client, APP)
    (picture,) = elements(page.content.decode(), "img")
    kind, _, data = picture.attrs["src"].partition(",")
    assert kind == "data:image/svg+xml;base64"
    address = read_back(base64.b64decode(data).decode())
    assert address.startswith("otpauth://totp/cleo%40harbour.example?")
    assert f"secret={secret_on(page)}" in address


def test_a_wrong_first_code_takes_no_app_into_use(coach: Membership):
    client = Client()
    sign_in(client, coach)
    secret = secret_on(confirmed(client, APP))
    answer = client.post(APP, {"code": code_at(secret, now() + 600)})
    assert "That is not the code." in words_of(answer)
    assert secret_on(answer) == secret
    assert not Authenticator.objects.exists()


def test_password_alone_leads_to_the_code_and_the_code_in(coach: Membership):
    _, secret = with_app(coach)
    with time_machine.travel(timezone.now() + NEXT_CODE, tick=False):
        client = Client()
        assert sign_in(client, coach, next="/sign-offs/")["Location"] == CODE
        assert client.get("/today/").status_code == 302
        assert client.post(CODE, {"code": code_at(secret, now())})["Location"] == "/sign-offs/"
        assert client.get("/today/").status_code == 200


@pytest.mark.parametrize("later", [0, 30, 59])
def test_a_code_is_good_once_for_as_long_as_it_would_be_good(coach: Membership, later: int):
    """RFC 6238, 5.2. A code is good for its own half minute and the one beside it, so it is remembered for both."""
    _, secret = with_app(coach)
    begin = timezone.now().replace(second=0, microsecond=0) + timedelta(minutes=10)
    with time_machine.travel(begin, tick=False) as clock:
        code = code_at(secret, now())
        first = Client()
        sign_in(first, coach)
        assert first.post(CODE, {"code": code})["Location"] == "/"
        clock.shift(later)
        second = Client()
        sign_in(second, coach)
        assert "That is not the code." in words_of(second.post(CODE, {"code": code}))


@pytest.mark.parametrize(("off", "status"), [(-60, 200), (-30, 302), (30, 302), (60, 200)])
def test_a_phone_may_be_half_a_minute_off_and_no_more(coach: Membership, off: int, status: int):
    _, secret = with_app(coach)
    begin = timezone.now().replace(second=15, microsecond=0) + timedelta(minutes=10)
    with time_machine.travel(begin, tick=False):
        client = Client()
        sign_in(client, coach)
        assert client.post(CODE, {"code": code_at(secret, now() + off)}).status_code == status


def test_sixth_wrong_code_in_five_minutes_is_not_looked_at(coach: Membership):
    _, secret = with_app(coach)
    with time_machine.travel(timezone.now() + timedelta(minutes=10), tick=False):
        client = Client()
        sign_in(client, coach)
        for _ in range(5):
            client.post(CODE, {"code": "000000"})
        answer = client.post(CODE, {"code": code_at(secret, now())})
        assert "Nothing more is looked at for five minutes" in words_of(answer)


def test_a_recovery_code_signs_in_once(coach: Membership):
    with_app(coach)
    code = Authenticator.objects.get(type="recovery_codes").wrap().get_unused_codes()[0]
    client, other = Client(), Client()
    sign_in(client, coach)
    assert client.post(CODE, {"code": code})["Location"] == "/"
    sign_in(other, coach)
    assert "That is not the code." in words_of(other.post(CODE, {"code": code}))


def test_who_has_few_recovery_codes_left_is_told_at_the_sign_in_and_on_the_page(coach: Membership):
    mine, _ = with_app(coach)
    mine.get("/account/safety/recovery-codes/")  # where they are shown, once
    codes = Authenticator.objects.get(type="recovery_codes").wrap().get_unused_codes()
    told = []
    for code in codes[:8]:
        client = Client()
        sign_in(client, coach)
        page = words_of(client.post(CODE, {"code": code}, follow=True))
        told.append("recovery codes left. Make new ones under “Sign-in and safety”." in page)
    assert told == [False] * 6 + [True, True]
    for page in (SAFETY, "/account/safety/recovery-codes/"):
        assert "So few are left: make new ones" in words_of(mine.get(page))


def test_who_has_enough_recovery_codes_is_not_told(coach: Membership):
    client, _ = with_app(coach)
    client.get("/account/safety/recovery-codes/")
    for page in (SAFETY, "/account/safety/recovery-codes/"):
        assert "So few are left" not in words_of(client.get(page))


# ---- What is kept ------------------------------------------------------------------------------------------------
def test_secrets_are_stored_encrypted(coach: Membership):
    _, secret = with_app(coach)
    stored = {one.type: str(one.data) for one in Authenticator.objects.all()}
    assert stored.keys() == {"totp", "recovery_codes"}
    assert secret not in stored["totp"]
    assert base64.b32decode(secret).hex() not in stored["totp"]
    assert get_adapter().decrypt(Authenticator.objects.get(type="totp").data["secret"]) == secret


def test_an_earlier_key_still_reads_and_another_one_makes_no_code_right(settings, coach: Membership, caplog):
    _, secret = with_app(coach)
    stored = Authenticator.objects.get(type="totp").data["secret"]
    settings.SECRET_KEY_FALLBACKS, settings.SECRET_KEY = [settings.SECRET_KEY], "a new key of at least some length"
    assert get_adapter().decrypt(stored) == secret
    settings.SECRET_KEY_FALLBACKS = []
    assert get_adapter().decrypt(stored) != secret
    assert "stored under another SECRET_KEY" in caplog.text


# ---- Before what changes how one signs in -----------------------------------------------------------------------
@pytest.mark.parametrize("page", [APP, "/account/safety/passkeys/add/", "/account/safety/recovery-codes/new/"])
def test_the_password_is_asked_for_again_before_a_factor_changes(client_of: SignIn, coach: Membership, page: str):
    client = client_of(coach)
    for answer in (client.get(page), client.post(page)):
        assert answer["Location"].startswith(AGAIN)
    assert not Authenticator.objects.exists()


def test_a_removed_app_leaves_the_password_and_no_recovery_codes(coach: Membership):
    client, _ = with_app(coach)
    answer = client.post("/account/safety/app/remove/", follow=True)
    assert "The app is removed." in words_of(answer)
    assert not Authenticator.objects.exists()
    assert sign_in(Client(), coach)["Location"] == "/"


# ---- A gym that asks its staff for one ---------------------------------------------------------------------------
@pytest.fixture
def strict(gym: Gym) -> Gym:
    Gym.objects.update(staff_need_second_factor=True)
    gym.refresh_from_db()
    return gym


@pytest.mark.parametrize("page", ["/today/", "/athletes/", "/my-code/", "/skills/", "/"])
def test_staff_without_one_are_led_to_the_page_that_sets_it_up(
    client_of: SignIn, strict: Gym, coach: Membership, page: str
):
    answer = client_of(coach).get(page, follow=True)
    assert answer.redirect_chain[-1] == (SAFETY, 302)
    assert "Until you have added a passkey or an app here, the gym's pages stay shut to you." in words_of(answer)


def test_what_staff_without_one_send_is_not_stored(client_of: SignIn, strict: Gym, owner: Membership):
    form = {"name": "Other Hall", "time_zone": "Europe/Berlin", "units": "metric"}
    assert client_of(owner).post("/gym/", form)["Location"] == SAFETY
    strict.refresh_from_db()
    assert strict.name == "Harbour Hall"


def test_a_part_of_a_page_leads_there_as_a_whole(client_of: SignIn, strict: Gym, coach: Membership):
    answer = client_of(coach).get("/today/", headers={"HX-Request": "true"})
    assert (answer.status_code, answer["HX-Redirect"], answer.content) == (200, SAFETY, b"")


def test_athletes_and_guardians_go_on_without(
    client_of: SignIn, strict: Gym, athlete_member: Membership, guardian: Membership
):
    for member in (athlete_member, guardian):
        assert client_of(member).get("/skills/").status_code == 200


def test_tablets_and_keys_go_on_without(strict: Gym, owner: Membership, coach: Membership):
    device = floor.enrolled(owner)
    body = floor.hand_over_body(coach)
    set_code(by=coach, code=floor.CODE)
    assert device.post("hand-over/", body).status_code in {200, 201}
    assert device.by(coach).get("today/").status_code == 200
    assert Api(make_token(by=owner, name="door").key).get("athletes/").status_code == 200


def test_once_set_up_the_gym_opens_in_the_same_browser(strict: Gym, coach: Membership):
    client, _ = with_app(coach)
    assert client.get("/today/").status_code == 200


def test_in_another_gym_the_same_person_goes_on_without(
    client_of: SignIn, strict: Gym, other_gym: Gym, coach: Membership
):
    Gym.objects.filter(pk=other_gym.pk).update(staff_need_second_factor=False)
    client = client_of(coach)
    elsewhere = Membership.objects.create(
        gym=other_gym, account=coach.account, person=make_person(other_gym, "Cleo Adeyemi"), role="coach", may_log=True
    )
    assert client.post("/account/role/", {"membership": elsewhere.id})["Location"] == "/"
    assert client.get("/today/").status_code == 200


def test_the_last_factor_stays_where_the_gym_asks_for_one(strict: Gym, coach: Membership):
    client, _ = with_app(coach)
    for answer in (client.get("/account/safety/app/remove/"), client.post("/account/safety/app/remove/")):
        assert "your gym asks its staff for one" in words_of(answer)
    passkey = Authenticator.objects.create(user=coach.account, type="webauthn", data={"name": "phone"})
    Authenticator.objects.filter(type="totp").delete()
    answer = client.post(f"/account/safety/passkeys/{passkey.pk}/remove/", follow=True)
    assert "your gym asks its staff for one" in words_of(answer)
    assert Authenticator.objects.filter(pk=passkey.pk).exists()


def test_one_of_two_passkeys_may_go(strict: Gym, coach: Membership):
    client, _ = with_app(coach)
    passkey = Authenticator.objects.create(user=coach.account, type="webauthn", data={"name": "phone"})
    assert client.post(f"/account/safety/passkeys/{passkey.pk}/remove/").status_code == 302
    assert not Authenticator.objects.filter(pk=passkey.pk).exists()


def test_nobody_removes_or_renames_the_passkey_of_somebody_else(coach: Membership, owner: Membership):
    client, _ = with_app(coach)
    passkey = Authenticator.objects.create(user=owner.account, type="webauthn", data={"name": "phone"})
    for way in ("remove", "rename"):
        assert client.post(f"/account/safety/passkeys/{passkey.pk}/{way}/", {"name": "mine"}).status_code == 404
    passkey.refresh_from_db()
    assert passkey.data == {"name": "phone"}


def test_an_owner_without_one_cannot_ask_others(client_of: SignIn, gym: Gym, owner: Membership):
    form = {"name": gym.name, "time_zone": gym.time_zone, "units": "metric", "staff_need_second_factor": "on"}
    answer = client_of(owner).post("/gym/", form)
    assert answer.status_code == 422
    assert "Set up your own second factor first" in words_of(answer)
    gym.refresh_from_db()
    assert not gym.staff_need_second_factor


def test_an_owner_with_one_can(gym: Gym, owner: Membership):
    client, _ = with_app(owner)
    form = {"name": gym.name, "time_zone": gym.time_zone, "units": "metric", "staff_need_second_factor": "on"}
    assert client.post("/gym/", form)["Location"] == "/gym/"
    gym.refresh_from_db()
    assert gym.staff_need_second_factor


# ---- What a passkey's page takes ---------------------------------------------------------------------------------
EMPTY = '{"id":"AA","rawId":"AA","type":"public-key"'
ANSWER = EMPTY + ',"response":{"clientDataJSON":"e30","authenticatorData":"AA","signature":"AA"'
NO_PASSKEYS = ("", "{}", "[]", "1", '"x"', "null", "\x00", '{"response": []}', EMPTY + "}", ANSWER + "}}")


@pytest.mark.parametrize("said", [*NO_PASSKEYS, '{"response": {"userHandle": null}}', ANSWER + ',"userHandle":"AA"}}'])
def test_what_is_no_passkey_signs_nobody_in(client: Client, coach: Membership, said: str):
    client.get("/account/safety/passkeys/sign-in/", headers={"Accept": "application/json"})
    answer = client.post("/account/safety/passkeys/sign-in/", {"credential": said})
    assert (answer.status_code, answer["Location"]) == (302, "/account/sign-in/")
    assert client.get("/today/").status_code == 302


@pytest.mark.parametrize(
    "said", [*NO_PASSKEYS, EMPTY + ',"response":{"clientDataJSON":"e30","attestationObject":"AA"}}']
)
def test_what_is_no_passkey_is_not_added(coach: Membership, said: str):
    client, _ = with_app(coach)
    page = "/account/safety/passkeys/add/"
    client.get(page)
    answer = client.post(page, {"name": "phone", "credential": said})
    assert "No passkey was added." in words_of(answer)
    assert not Authenticator.objects.filter(type="webauthn").exists()
