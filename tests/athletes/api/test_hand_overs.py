"""A tablet's own calls: let in by a code, handed over by another one, left."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.utils import timezone

from athletes.models import AuditEntry, CoachCode, HandOver, Person, Tablet
from athletes.services.audit import first_broken_link
from athletes.services.coach_codes import set_code
from athletes.services.staff import change_rights, end_membership
from athletes.services.tablets import add_tablet, revoke_tablet
from athletes.services.tokens import digest_of
from gymtrack.lib.ids import new_id
from tests.factories.athletes import Role, make_member, years_before_today
from tests.helpers.api import PROBLEM, api_of
from tests.helpers.floor import CODE, ORIGIN, Device, enrolled, hand_over_body, held
from tests.helpers.html import words_of

ENROL = "/api/v1/floor/enrol/"
OTHER_CODE = "730518"
UNKNOWN = "This code is not known, was used already, or has run out. Ask the owner for a new one."


@pytest.fixture
def device(owner) -> Device:
    return enrolled(owner)


def enrol(code: str, **headers: str):
    sent = {"Origin": ORIGIN, **headers}
    return Client().post(ENROL, {"code": code}, content_type="application/json", headers=sent)


def said(answer) -> tuple[int, str]:
    """Status and code of a problem."""
    assert answer.headers["Content-Type"] == PROBLEM, answer.content
    assert answer.headers["Cache-Control"] == "private, no-store"
    return answer.status_code, answer.json().get("code", "")


# --- Enrolment --------------------------------------------------------------------------------------------


def test_a_code_lets_one_device_in_and_tells_its_key(owner):
    added = add_tablet(by=owner, name="window")
    answer = enrol(added.code.lower().replace("-", " "))
    assert answer.status_code == 201
    told = answer.json()
    assert told["tablet"] == {"id": str(added.tablet.id), "name": "window"}
    assert told["gym"] == {"id": str(owner.gym_id), "name": owner.gym.name}
    kept = Tablet.objects.get()
    assert (kept.key_digest, kept.code_digest) == (digest_of(told["key"]), "")
    assert len(told["key"]) == 43  # 256 bits
    assert told["key"] not in str(Tablet.objects.values().get())
    assert Device(kept, told["key"]).get("hello/").status_code == 200


def test_a_code_that_was_used_lets_nobody_in(owner):
    added = add_tablet(by=owner, name="window")
    first, second = enrol(added.code), enrol(added.code)
    assert first.status_code == 201
    assert said(second) == (403, "unknown_code")
    assert second.json()["detail"] == UNKNOWN
    assert Device(Tablet.objects.get(), first.json()["key"]).get("hello/").status_code == 200


def test_a_code_that_ran_out_and_an_unknown_one_are_refused_in_the_same_words(owner):
    added = add_tablet(by=owner, name="window")
    with time_machine.travel(timezone.now() + timedelta(minutes=15), tick=False):
        late = enrol(added.code)
    assert (late.status_code, late.content) == (403, enrol("AAAA-BBBB").content)
    assert enrol(added.code).status_code == 201


@pytest.mark.parametrize(
    ("code", "status"), [("", 422), (" ", 422), ("x" * 41, 422), (None, 422), ("-", 403), (7, 403)]
)
@pytest.mark.usefixtures("device")
def test_what_is_no_code_is_refused_and_fits_no_tablet(owner, code, status):
    """A tablet whose code was used keeps an empty text in its place."""
    add_tablet(by=owner, name="window")
    assert said(enrol(code))[0] == status
    assert Tablet.objects.exclude(key_digest=None).count() == 1


def test_a_tablet_that_was_shut_out_before_it_was_enrolled_stays_out(owner):
    added = add_tablet(by=owner, name="window")
    revoke_tablet(by=owner, tablet=added.tablet)
    assert enrol(added.code).status_code == 403


def test_a_tablet_added_again_has_one_code_the_new_one(owner):
    first, second = (add_tablet(by=owner, name="window") for _ in range(2))
    assert first.tablet == second.tablet
    assert [enrol(added.code).status_code for added in (first, second)] == [403, 201]


def test_thirty_tries_a_minute_are_enough_for_one_address(owner):
    added = add_tablet(by=owner, name="window")
    assert {enrol("AAAA-BBBB").status_code for _ in range(30)} == {403}
    locked = enrol(added.code)
    assert said(locked)[0] == 429
    assert locked.json()["detail"] == "Too many codes were tried from here: wait a minute."
    with time_machine.travel(timezone.now() + timedelta(seconds=61), tick=False):
        assert enrol(added.code).status_code == 201


# --- What a tablet may ask --------------------------------------------------------------------------------


@pytest.mark.usefixtures("athlete_member", "guardian")
def test_hello_tells_staff_and_no_athlete(device, owner, coach, coach_two):
    change_rights(by=owner, coach=coach_two, rights=frozenset())
    set_code(by=coach, code=CODE)
    told = device.get("hello/").json()
    assert told["gym"]["name"] == "Harbour Hall"
    assert told["tablet"] == {"id": str(device.tablet.id), "name": "by the low bar"}
    assert {row["name"]: row["has_code"] for row in told["coaches"]} == {"Olga Brandt": False, "Cleo Adeyemi": True}
    assert told["holding"] == []
    held(device, coach)
    (holding,) = device.get("hello/").json()["holding"]
    assert (holding["coach"], holding["name"]) == (str(coach.id), "Cleo Adeyemi")


def test_a_coach_who_is_known_to_be_under_age_stands_by_initials(device, owner, coach):
    held(device, coach)
    Person.objects.filter(pk=coach.person_id).update(birth_on=years_before_today(17))
    told = device.get("hello/").json()
    assert [row["name"] for row in told["coaches"]] == [owner.person.full_name, "C. A."]
    assert [row["name"] for row in told["holding"]] == ["C. A."]


@pytest.mark.parametrize("authorization", ["", "Tablet", "Tablet ", "Tablet nothing", "Bearer {key}", "{key}"])
def test_without_a_tablets_key_there_is_no_answer(device, authorization):
    headers = {"Authorization": authorization.format(key=device.key)} if authorization else {}
    answer = Client().get("/api/v1/floor/hello/", headers=headers)
    assert said(answer) == (401, "tablet")
    assert answer.headers["WWW-Authenticate"] == "Tablet"


def test_a_cookie_alone_opens_nothing(client_of, owner, coach, device):
    for who in (owner, coach):
        client = client_of(who)
        assert said(client.get("/api/v1/floor/hello/", headers={"Coach": str(who.id)})) == (401, "tablet")
        for act in ("hand-over", "leave"):
            sent = client.post(f"/api/v1/floor/{act}/", {}, content_type="application/json", headers={"Origin": ORIGIN})
            assert said(sent) == (401, "tablet")


def test_a_key_of_the_api_is_no_tablets_and_the_other_way_round(owner, device):
    token = api_of(owner).key
    assert said(Client().get("/api/v1/floor/hello/", headers={"Authorization": f"Tablet {token}"})) == (401, "tablet")
    for scheme in ("Tablet", "Bearer"):
        answer = Client().get("/api/v1/athletes/", headers={"Authorization": f"{scheme} {device.key}"})
        assert answer.status_code == 401


def test_a_tablet_that_was_shut_out_is_told_nothing(owner, coach, device):
    held(device, coach)
    revoke_tablet(by=owner, tablet=device.tablet)
    assert said(device.get("hello/")) == (401, "tablet")
    assert said(device.post("hand-over/", hand_over_body(coach))) == (401, "tablet")
    assert HandOver.objects.get().ended_at is not None


@pytest.mark.parametrize(
    "origin", ["http://elsewhere.example", "https://testserver", "http://testserver:81", "null", ""]
)
def test_a_post_from_another_origin_is_refused(device, coach, origin):
    set_code(by=coach, code=CODE)
    for act, body in (("hand-over", hand_over_body(coach)), ("leave", {})):
        assert said(device.post(f"{act}/", body, Origin=origin)) == (403, "origin")
    assert said(enrol("AAAA-BBBB", Origin=origin)) == (403, "origin")
    assert not HandOver.objects.exists()


def test_a_post_without_an_origin_is_refused(device):
    headers = {"Authorization": f"Tablet {device.key}"}
    for act in ("hand-over", "leave", "enrol"):
        answer = Client().post(f"/api/v1/floor/{act}/", {}, content_type="application/json", headers=headers)
        assert said(answer) == (403, "origin")


def test_an_origin_that_the_settings_name_is_ones_own(device, settings):
    settings.CSRF_TRUSTED_ORIGINS = ["https://gym.example"]
    assert device.post("leave/", Origin="https://gym.example").status_code == 200


@pytest.mark.parametrize("media", ["application/x-www-form-urlencoded", "multipart/form-data", "text/plain"])
def test_a_form_is_refused(device, coach, media):
    headers = {"Authorization": f"Tablet {device.key}", "Origin": ORIGIN}
    for act in ("hand-over", "leave", "enrol"):
        answer = Client().generic("POST", f"/api/v1/floor/{act}/", b"{}", content_type=media, headers=headers)
        assert said(answer)[0] == 415


# --- Hand-overs -------------------------------------------------------------------------------------------


def test_a_code_hands_the_tablet_over_for_twelve_hours(device, coach):
    set_code(by=coach, code=CODE)
    body = hand_over_body(coach)
    told = device.post("hand-over/", body).json()
    row = HandOver.objects.get()
    assert (told["hand_over"], told["coach"], told["name"]) == (body["id"], str(coach.id), "Cleo Adeyemi")
    assert told["may_sign_off"] is True
    assert row.until_at - row.confirmed_at == timedelta(hours=12)
    assert datetime.fromisoformat(told["until"]) == row.until_at


def test_the_same_id_twice_is_one_hand_over_and_one_answer(device, coach):
    set_code(by=coach, code=CODE)
    body = hand_over_body(coach)
    first, second = (device.post("hand-over/", body).json() for _ in range(2))
    assert {**first, "at": ""} == {**second, "at": ""}
    assert HandOver.objects.count() == 1
    acts = [entry.act for entry in AuditEntry.objects.filter(gym=coach.gym)]
    assert acts == ["tablet_added", "tablet_enrolled", "code_set", "handed_over"]
    assert first_broken_link(coach.gym) is None


def test_the_same_id_again_after_the_tablet_was_left_says_that_it_is_over(device, coach):
    set_code(by=coach, code=CODE)
    body = hand_over_body(coach)
    device.post("hand-over/", body)
    device.post("leave/")
    told = device.post("hand-over/", body).json()
    assert told["until"] <= told["at"]
    assert device.get("hello/").json()["holding"] == []


def test_an_id_that_stands_for_another_hand_over_is_refused(device, owner, coach, coach_two):
    row = held(device, coach)
    set_code(by=coach_two, code=OTHER_CODE)
    body = hand_over_body(coach_two, code=OTHER_CODE) | {"id": str(row.id)}
    assert said(device.post("hand-over/", body))[0] == 409
    elsewhere = enrolled(owner, name="other one")
    assert said(elsewhere.post("hand-over/", hand_over_body(coach) | {"id": str(row.id)}))[0] == 409
    assert HandOver.objects.count() == 1


def test_two_coaches_hold_one_tablet(device, coach, coach_two):
    held(device, coach)
    set_code(by=coach_two, code=OTHER_CODE)
    told = device.post("hand-over/", hand_over_body(coach_two, code=OTHER_CODE)).json()
    assert told["may_sign_off"] is False
    assert [row["name"] for row in device.get("hello/").json()["holding"]] == ["Cleo Adeyemi", "Timo Laine"]


def test_who_takes_over_again_holds_it_once(device, coach):
    held(device, coach)
    again = device.post("hand-over/", hand_over_body(coach)).json()
    (holding,) = device.get("hello/").json()["holding"]
    assert holding["hand_over"] == again["hand_over"]


def test_five_wrong_codes_lock_it_for_five_minutes(device, coach, coach_two):
    set_code(by=coach, code=CODE)
    held(device, coach_two, code=OTHER_CODE)
    tries = [device.post("hand-over/", hand_over_body(coach, code="910364")) for _ in range(5)]
    assert [said(answer) for answer in tries] == [(403, "wrong_code")] * 5
    assert tries[0].json()["detail"] == "That is not the code. 4 more tries."
    assert tries[3].json()["detail"] == "That is not the code. 1 more try."
    assert tries[4].json()["detail"] == "That is not the code. It is locked for 5 minutes now."
    locked = device.post("hand-over/", hand_over_body(coach))
    assert said(locked) == (403, "locked")
    assert locked.json()["detail"] == "Too many wrong codes: this one is locked for 5 minutes."
    assert AuditEntry.objects.get(act="code_locked").about == coach.id
    other = device.post("hand-over/", hand_over_body(coach_two, code=OTHER_CODE))
    assert other.status_code == 200
    with time_machine.travel(timezone.now() + timedelta(minutes=5, seconds=1), tick=False):
        assert said(device.post("hand-over/", hand_over_body(coach, code="910364"))) == (403, "wrong_code")
        assert device.post("hand-over/", hand_over_body(coach)).status_code == 200
    assert CoachCode.objects.get(membership=coach).failures == 0


def test_the_lock_holds_on_every_tablet_of_the_gym(device, owner, coach):
    set_code(by=coach, code=CODE)
    for _ in range(5):
        device.post("hand-over/", hand_over_body(coach, code="910364"))
    elsewhere = enrolled(owner, name="other one")
    assert said(elsewhere.post("hand-over/", hand_over_body(coach))) == (403, "locked")


def test_a_right_code_forgives_the_wrong_ones_before(device, coach):
    set_code(by=coach, code=CODE)
    for _ in range(4):
        device.post("hand-over/", hand_over_body(coach, code="910364"))
    assert device.post("hand-over/", hand_over_body(coach)).status_code == 200
    assert device.post("hand-over/", hand_over_body(coach, code="910364")).json()["detail"].endswith("4 more tries.")


def test_a_coach_without_a_code_is_told_so(device, coach):
    answer = device.post("hand-over/", hand_over_body(coach))
    assert said(answer) == (403, "no_code")
    assert "set one under “My code" in answer.json()["detail"]


def test_a_changed_code_ends_what_the_old_one_opened(device, coach):
    held(device, coach)
    set_code(by=coach, code=OTHER_CODE)
    assert device.get("hello/").json()["holding"] == []
    assert said(device.post("hand-over/", hand_over_body(coach))) == (403, "wrong_code")
    assert device.post("hand-over/", hand_over_body(coach, code=OTHER_CODE)).status_code == 200


@pytest.mark.parametrize("who", ["other_coach", "guardian", "athlete_member"])
def test_who_is_no_coach_of_this_gym_may_not_take_over(request, device, who):
    member = request.getfixturevalue(who)
    answer = device.post("hand-over/", hand_over_body(member))
    assert said(answer) == (403, "right")
    assert member.person.full_name not in answer.content.decode()


def test_another_gyms_tablet_does_not_take_our_coach(device, coach, other_gym):
    held(device, coach)
    theirs = enrolled(make_member(other_gym, Role.OWNER, "Odile Grau"))
    assert said(theirs.post("hand-over/", hand_over_body(coach))) == (403, "right")
    assert "Cleo" not in theirs.get("hello/").content.decode()


def test_a_coach_who_left_or_may_not_log_any_more_may_not_take_over(device, owner, coach, coach_two):
    for person in (coach, coach_two):
        set_code(by=person, code=CODE)
    end_membership(by=owner, membership=coach)
    change_rights(by=owner, coach=coach_two, rights=frozenset({"may_sign_off"}))
    for person in (coach, coach_two):
        assert said(device.post("hand-over/", hand_over_body(person))) == (403, "right")
    assert {row["name"] for row in device.get("hello/").json()["coaches"]} == {"Olga Brandt"}
    assert not HandOver.objects.exists()


def test_a_claim_is_kept_by_the_servers_clock(device, coach):
    """The device is three hours behind, and took over twenty minutes ago."""
    set_code(by=coach, code=CODE)
    now = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
    with time_machine.travel(now, tick=False):
        behind = now - timedelta(hours=3)
        claim = {"sent_at": behind.isoformat(), "claimed_at": (behind - timedelta(minutes=20)).isoformat()}
        device.post("hand-over/", hand_over_body(coach, **claim))
        ahead = {"sent_at": behind.isoformat(), "claimed_at": now.isoformat()}
        device.post("hand-over/", hand_over_body(coach, **ahead))
    first, second = HandOver.objects.order_by("pk")
    assert (first.claimed_at, first.confirmed_at) == (now - timedelta(minutes=20), now)
    assert second.claimed_at == now  # nobody took over in the future
    assert Tablet.objects.get().offset_ms == 3 * 3600 * 1000


@pytest.mark.parametrize(
    ("changed", "place"),
    [
        ({"code": "12345"}, "code"),
        ({"code": "٤٠٢٩١٧"}, "code"),
        ({"code": 402917.5}, "code"),
        ({"id": "7"}, "id"),
        ({"coach": None}, "coach"),
        ({"sent_at": "yesterday"}, "sent_at"),
        ({"claimed_at": "18:05"}, "claimed_at"),
        ({"name": "Cleo"}, "name"),
    ],
)
def test_mistakes_are_named_by_their_place_and_are_no_tries(device, coach, changed, place):
    set_code(by=coach, code=CODE)
    answer = device.post("hand-over/", hand_over_body(coach) | changed)
    assert said(answer)[0] == 422
    assert [error["place"] for error in answer.json()["errors"]] == [place]
    assert CoachCode.objects.get().failures == 0


def test_leaving_ends_all_hand_overs_of_this_tablet_alone(device, owner, coach, coach_two):
    elsewhere = enrolled(owner, name="other one")
    for where, who in ((device, coach), (device, coach_two)):
        held(where, who)
    kept = elsewhere.post("hand-over/", hand_over_body(coach)).json()["hand_over"]
    answer = device.post("leave/")
    assert list(answer.json()) == ["at"]
    assert device.get("hello/").json()["holding"] == []
    assert [row["hand_over"] for row in elsewhere.get("hello/").json()["holding"]] == [kept]
    assert device.post("leave/").status_code == 200
    assert [entry.content for entry in AuditEntry.objects.filter(act="tablet_left")] == ['{"hand_overs":2}']


def test_who_left_or_may_not_log_any_more_holds_nothing(client_of, device, owner, coach, coach_two):
    for person in (owner, coach, coach_two):
        held(device, person)
    end_membership(by=owner, membership=coach)
    change_rights(by=owner, coach=coach_two, rights=frozenset())
    assert [row["name"] for row in device.get("hello/").json()["holding"]] == ["Olga Brandt"]
    assert "In the hands of Olga Brandt." in words_of(client_of(owner).get("/gym/tablets/"))


def test_contact_is_noted_at_most_once_a_minute(device, django_assert_num_queries):
    start = timezone.now() + timedelta(hours=1)
    for seconds, queries, heard in ((0, 4, 0), (30, 3, 0), (61, 4, 61)):
        with time_machine.travel(start + timedelta(seconds=seconds), tick=False):
            with django_assert_num_queries(queries):  # the tablet, coaches, holders; once a minute the note
                device.get("hello/")
            assert Tablet.objects.get().heard_at == start + timedelta(seconds=heard)


def test_an_id_of_the_device_may_be_any_uuid(device, coach):
    set_code(by=coach, code=CODE)
    body = hand_over_body(coach) | {"id": str(new_id()).upper()}
    assert device.post("hand-over/", body).json()["hand_over"] == body["id"].lower()
