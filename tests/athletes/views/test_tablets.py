import re
from datetime import timedelta

import pytest
from django.contrib.auth.hashers import check_password
from django.contrib.messages import get_messages
from django.urls import reverse
from django.utils import timezone

from athletes.models import CoachCode, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet, note_contact
from tests.helpers.floor import CODE, enrolled, held
from tests.helpers.html import words_of


def told(response) -> list[str]:
    return [str(message) for message in get_messages(response.wsgi_request)]


def code_on(response) -> str:
    (code,) = re.findall(r"<code[^>]*>([A-Z2-9]{4}-[A-Z2-9]{4})</code>", response.content.decode())
    return code


def test_a_code_is_shown_once(client_of, owner):
    client = client_of(owner)
    response = client.post(reverse("tablet_add"), {"name": " by the  low bar "})
    assert response.status_code == 201
    assert response["Cache-Control"] == "no-store"
    code = code_on(response)
    assert "http://testserver" in words_of(response)
    page = client.get(reverse("tablets")).content.decode()
    assert "by the low bar" in page
    assert "Waits for its code, until" in page
    assert code not in page
    assert code.replace("-", "") not in str(Tablet.objects.values().get())


def test_a_form_sent_twice_is_one_tablet_and_the_last_code_works(client_of, owner, client):
    answers = [client_of(owner).post(reverse("tablet_add"), {"name": "wall"}) for _ in range(2)]
    assert Tablet.objects.count() == 1
    statuses = [
        client.post(
            "/api/v1/floor/enrol/",
            {"code": code_on(answer)},
            content_type="application/json",
            headers={"Origin": "http://testserver"},
        ).status_code
        for answer in answers
    ]
    assert statuses == [403, 201]


def test_a_name_in_use_is_refused_beside_its_field(client_of, owner):
    enrolled(owner, name="wall")
    response = client_of(owner).post(reverse("tablet_add"), {"name": "wall"})
    assert response.status_code == 422
    assert response.context["form"].errors["name"] == [
        "A tablet in use is called “wall” already: revoke it, or give this one another name."
    ]
    assert 'value="wall"' in response.content.decode()


def test_a_tablet_without_a_name_is_refused(client_of, owner):
    response = client_of(owner).post(reverse("tablet_add"), {"name": " "})
    assert response.status_code == 422
    assert response.context["form"].errors["name"] == ["Name of the tablet is missing."]
    assert not Tablet.objects.exists()


def test_the_list_says_who_holds_a_tablet_and_that_its_clock_is_wrong(client_of, owner, coach, coach_two):
    device = enrolled(owner)
    held(device, coach)
    held(device, coach_two)
    now = timezone.now()
    note_contact(tablet=device.tablet, received_at=now, sent_at=now + timedelta(hours=2, minutes=5))
    page = words_of(client_of(owner).get(reverse("tablets")))
    assert "In the hands of Cleo Adeyemi, Timo Laine." in page
    assert "Its clock is 2 h 5 min ahead." in page


def test_the_list_says_when_a_code_ran_out_and_who_has_none(client_of, owner, coach):
    add_tablet(by=owner, name="wall", holds=timedelta(seconds=-1))
    set_code(by=coach, code=CODE)
    page = words_of(client_of(owner).get(reverse("tablets")))
    assert "Its code ran out before anybody typed it" in page
    assert "Cleo Adeyemi coach Has set a code." in page
    assert "Olga Brandt owner Has set no code yet" in page


def test_the_list_takes_as_many_queries_for_three_tablets_as_for_one(
    client_of, owner, coach, django_assert_num_queries
):
    client = client_of(owner)
    for count in (1, 3):
        while Tablet.objects.count() < count:
            held(enrolled(owner, name=f"tablet {Tablet.objects.count()}"), coach)
        with django_assert_num_queries(6):  # session, account, memberships; holders, tablets, coaches
            client.get(reverse("tablets"))


def test_revoking_asks_first(client_of, owner):
    device = enrolled(owner)
    client, address = client_of(owner), reverse("tablet_revoke", args=[device.tablet.id])
    assert "Shut out “by the low bar”?" in words_of(client.get(address))
    assert device.get("hello/").status_code == 200
    response = client.post(address)
    assert (response.status_code, response.url) == (303, reverse("tablets"))
    assert told(response) == ["The tablet “by the low bar” is shut out."]
    assert device.get("hello/").status_code == 401
    assert "Shut out on" in words_of(client.get(reverse("tablets")))


def test_one_gyms_tablets_are_not_on_the_others_page(client_of, owner, other_coach):
    add_tablet(by=other_coach, name="uptown wall")
    assert "uptown wall" not in client_of(owner).get(reverse("tablets")).content.decode()


def test_a_code_of_ones_own_is_set(client_of, coach, django_assert_num_queries):
    client, address = client_of(coach), reverse("my_code")
    assert "You have set none yet." in words_of(client.get(address))
    response = client.post(address, {"code": CODE})
    assert (response.status_code, response.url) == (303, address)
    kept = CoachCode.objects.get()
    assert kept.membership == coach
    assert check_password(CODE, kept.digest)
    client.get(address)  # takes the message away, which the session keeps
    with django_assert_num_queries(4):  # session, account, memberships; the code
        page = client.get(address)
    assert "You set one on" in words_of(page)
    assert CODE not in page.content.decode()


@pytest.mark.parametrize("code", ["12345", "12345a", "٤٠٢٩١٧", "123456", "111111", ""])
def test_a_code_that_will_not_do_is_refused_beside_its_field(client_of, coach, code):
    response = client_of(coach).post(reverse("my_code"), {"code": code})
    assert response.status_code == 422
    assert list(response.context["form"].errors) == ["code"]
    assert not CoachCode.objects.exists()


def test_who_may_not_log_is_told_that_no_code_helps(client_of, owner, coach_two):
    coach_two.may_log = False
    coach_two.save(update_fields=["may_log"])
    assert "You may not log attempts in this gym" in words_of(client_of(coach_two).get(reverse("my_code")))


def test_a_locked_code_says_until_when(client_of, coach):
    set_code(by=coach, code=CODE)
    CoachCode.objects.update(failures=5, locked_until_at=timezone.now() + timedelta(minutes=4))
    client = client_of(coach)
    assert "it is locked until" in words_of(client.get(reverse("my_code")))
    client.post(reverse("my_code"), {"code": "730518"})
    assert (CoachCode.objects.get().failures, CoachCode.objects.get().locked_until_at) == (0, None)


@pytest.mark.parametrize(
    ("who", "ways"), [("owner", {"tablets", "my_code"}), ("coach", {"my_code"}), ("guardian", set())]
)
def test_staff_are_led_to_the_pages(request, client_of, who, ways):
    client = client_of(request.getfixturevalue(who))
    pages = client.get(reverse("home"), follow=True).content.decode()
    pages += client.get(reverse("gym")).content.decode() if who == "owner" else ""
    led = {name for name in ("tablets", "my_code") if f'href="{reverse(name)}"' in pages}
    assert led == ways
