"""Tablets that ask at the same instant, on the engine in use."""

from collections import Counter
from functools import partial

import pytest
from django.test import Client

from athletes.models import AuditEntry, CoachCode, HandOver, Tablet
from athletes.services.audit import first_broken_link
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet
from tests.helpers.floor import CODE, ORIGIN, enrolled, hand_over_body
from tests.helpers.threads import at_once, database_for_threads

pytestmark = pytest.mark.django_db(transaction=True)


def one(call):
    """What a call gives that looks where the threads wrote."""
    return at_once([call])[0]


@pytest.fixture
def device(owner, coach, tmp_path):
    made = enrolled(owner)
    set_code(by=coach, code=CODE)
    with database_for_threads(tmp_path):
        yield made


def test_two_equal_hand_overs_at_one_instant_are_one_with_two_equal_answers(device, coach):
    body = hand_over_body(coach)
    answers = at_once([partial(device.post, "hand-over/", body)] * 2)
    assert [answer.status_code for answer in answers] == [200, 200]
    first, second = (answer.json() | {"at": ""} for answer in answers)
    assert first == second
    assert one(HandOver.objects.count) == 1
    assert one(AuditEntry.objects.filter(act="handed_over").count) == 1
    assert one(partial(first_broken_link, coach.gym)) is None
    assert one(lambda: CoachCode.objects.get().failures) == 0


def test_one_id_for_two_coaches_at_one_instant_is_one_hand_over(device, owner, coach):
    one(partial(set_code, by=owner, code=CODE))
    body = hand_over_body(coach)
    bodies = [body, body | {"coach": str(owner.id)}] * 2
    answers = at_once([partial(device.post, "hand-over/", sent) for sent in bodies])
    assert Counter(answer.status_code for answer in answers) == {200: 2, 409: 2}
    assert one(HandOver.objects.count) == 1


def test_ten_wrong_codes_at_one_instant_are_five_tries(device, coach):
    bodies = [hand_over_body(coach, code=f"{number}64093") for number in range(10)]
    answers = at_once([partial(device.post, "hand-over/", body) for body in bodies])
    assert Counter(answer.json()["code"] for answer in answers) == {"wrong_code": 5, "locked": 5}
    locked = one(partial(device.post, "hand-over/", hand_over_body(coach)))
    assert locked.json()["code"] == "locked"
    assert one(HandOver.objects.count) == 0


def test_one_enrolment_code_at_one_instant_lets_one_device_in(owner, tmp_path):
    code = add_tablet(by=owner, name="window").code
    with database_for_threads(tmp_path):
        post = partial(
            Client().post,
            "/api/v1/floor/enrol/",
            {"code": code},
            content_type="application/json",
            headers={"Origin": ORIGIN},
        )
        answers = at_once([post] * 4)
        assert Counter(answer.status_code for answer in answers) == {201: 1, 403: 3}
        assert one(Tablet.objects.exclude(key_digest=None).count) == 1
        assert one(AuditEntry.objects.filter(act="tablet_enrolled").count) == 1


def test_two_owners_forms_at_one_instant_are_one_tablet(owner, tmp_path):
    with database_for_threads(tmp_path):
        at_once([partial(add_tablet, by=owner, name="window")] * 2)
        assert one(Tablet.objects.count) == 1
