"""Cautions and torn skin from a tablet: paused everywhere as soon as they are sent, each stored once."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from athletes.models import Athlete, Caution, Gym, Membership, Remark, SkinNote
from skills.models import Attempt, TrainingSession
from skills.queries.books import book_of
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, start_class
from tests.helpers.floor import Device, enrolled, held
from tests.helpers.floor_acts import act_of, hold_body, receipt, receipts, refused, result_body, send


@pytest.fixture
def klass(gym: Gym, coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    library(gym, coach)
    return start_class(coach, athlete, minor)


@pytest.fixture
def device(owner: Membership, coach: Membership) -> Device:
    device = enrolled(owner)
    held(device, coach)
    return device


def caution_of(klass: TrainingSession, athlete: Athlete, **more: Any) -> dict[str, Any]:
    said = {"loads": ["hanging"], "until": "lifted", "reason": ""}
    return {"session": klass.id, "athlete": athlete.id, **said, **more}


def paused(answer: dict[str, Any]) -> set[str]:
    (tile,) = answer["tiles"]
    return {*tile["paused"]}


def with_load(gym: Gym, load: str) -> set[str]:
    book = book_of(Gym.objects.get(pk=gym.pk))
    return {str(book.steps[code].id) for code, rule in book.rules.steps.items() if load in rule.loads}


def test_a_caution_pauses_every_step_with_that_load_and_the_answer_says_so(device, klass, coach, athlete, gym) -> None:
    act = act_of("caution", coach, caution_of(klass, athlete, reason="Fell at school"), ago=timedelta(seconds=30))
    answer = send(device, act)
    assert answer["receipts"][0]["status"] == "stored"
    caution = Caution.objects.get()
    assert (str(caution.id), caution.loads, caution.until_at, caution.entered_by) == (
        act["id"],
        ["hanging"],
        None,
        coach,
    )
    assert paused(answer) == with_load(gym, "hanging")
    assert Remark.objects.get(about=caution.id).text == "Fell at school"
    later = act_of("attempt", coach, hold_body(klass, athlete))
    assert "A caution forbids this step" in refused(device, later, "mistakes")


def test_the_same_caution_again_is_one(device, klass, coach, athlete) -> None:
    act = act_of("caution", coach, caution_of(klass, athlete))
    first, second = receipt(device, act), receipt(device, act)
    assert (first["status"], second) == ("stored", first)
    assert Caution.objects.count() == 1


def test_a_try_of_before_the_caution_is_stored_though_it_comes_after_it(device, klass, coach, athlete) -> None:
    early = act_of("attempt", coach, hold_body(klass, athlete), ago=timedelta(seconds=50))
    late = act_of("caution", coach, caution_of(klass, athlete), ago=timedelta(seconds=20))
    assert [each["status"] for each in receipts(device, late, early)] == ["stored", "stored"]
    assert Attempt.objects.count() == 1


def test_dizziness_ends_inversion_until_midnight(device, klass, coach, athlete, gym) -> None:
    body = caution_of(klass, athlete, loads=["inversion"], until="day", reason="Dizziness or headache")
    assert paused(send(device, act_of("caution", coach, body))) == with_load(gym, "inversion")
    caution = Caution.objects.get()
    local = caution.happened_at.astimezone(gym.zone)
    assert caution.until_at == datetime.combine(local.date() + timedelta(days=1), datetime.min.time(), gym.zone)


def test_torn_skin_is_told_with_the_tile_and_pauses_nothing(device, klass, coach, athlete) -> None:
    answer = send(device, act_of("skin", coach, {"session": klass.id, "athlete": athlete.id}))
    (tile,) = answer["tiles"]
    assert tile["skin"].startswith("torn skin, shown until ")
    assert (tile["paused"], tile["cautions"], SkinNote.objects.count()) == ([], [], 1)


@pytest.mark.parametrize(
    "wrong", [{"loads": []}, {"loads": ["flying"]}, {"until": "ever"}, {"reason": "x" * 501}, {"athlete": "nobody"}]
)
def test_what_is_no_caution_is_refused_by_its_field(device, klass, coach, athlete, wrong) -> None:
    act = act_of("caution", coach, caution_of(klass, athlete) | wrong)
    assert next(iter(wrong)) in refused(device, act, "mistakes")
    assert not Caution.objects.exists()


def test_nobody_of_another_gym_gets_a_caution(device, klass, coach, other_gym) -> None:
    theirs = make_athlete(other_gym, "Noor Haddad")
    assert refused(device, act_of("caution", coach, caution_of(klass, theirs)), "gone")
    assert refused(device, act_of("skin", coach, {"session": klass.id, "athlete": theirs.id}), "gone")


def test_where_it_hurt_comes_with_the_mend_and_stands_with_the_caution(device, klass, coach, athlete) -> None:
    first = act_of("attempt", coach, hold_body(klass, athlete), ago=timedelta(seconds=9))
    words = "Pain: left shoulder. Stop for today"
    mend = act_of("mend", coach, {"attempt": first["id"], **result_body(pain=True), "note": words})
    answers = receipts(device, first, mend)
    assert [each["status"] for each in answers] == ["stored", "stored"]
    assert receipt(device, mend) == answers[1]
    assert {row.about for row in Remark.objects.filter(text=words)} == {
        Attempt.objects.get(pk=mend["id"]).id,
        Caution.objects.get().id,
    }
