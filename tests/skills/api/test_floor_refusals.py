"""Acts of a tablet that are refused: in words, and nothing else is lost."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes.models import Athlete, Gym
from athletes.services.staff import change_rights, end_membership
from skills.models import Attempt, FloorAct, TrainingSession
from skills.services.floor import taking
from skills.services.floor.kinds import KINDS
from skills.services.sessions import start_session
from tests.factories.athletes import make_athlete, make_caution
from tests.factories.skills import library, log, page_of, reach
from tests.helpers.floor import held
from tests.helpers.floor_acts import HOUR, act_of, envelope, hold_body, receipt, receipts, refused, step

BAD_BODIES: list[tuple[dict[str, Any], str]] = [
    ({"hold_tenths": 54_000}, "one hour"),
    ({"reps": -3}, "from 1 to 500"),
    ({"hold_tenths": None}, "enter the seconds"),
    ({"effort": 11}, "from 0 to 10"),
    ({"faults": ["no-such"]}, "no fault 'no-such'"),
    ({"doubt": "perhaps"}, "not a valid choice"),
    ({"source": "own"}, "not a valid choice"),
    ({"note": "x" * 501}, "no more than 500"),
    ({"hold_tenths": "long"}, "valid integer"),
    ({"shoes": "none"}, "There is no such field."),
]


@pytest.mark.parametrize(("change", "words"), BAD_BODIES, ids=[next(iter(change)) for change, _ in BAD_BODIES])
def test_bad_figures_are_refused_in_words_and_nothing_else_is_lost(
    *, device, klass, coach, athlete, change, words
) -> None:
    bad = act_of("attempt", coach, hold_body(klass, athlete, **change))
    good = [act_of("attempt", coach, hold_body(klass, athlete)) for _ in range(2)]
    before, told, after = receipts(device, good[0], bad, good[1])
    assert [before["status"], after["status"]] == ["stored"] * 2
    assert (told["status"], told["code"], told["mistakes"][0]["field"]) == ("refused", "mistakes", next(iter(change)))
    assert words in told["reason"]
    assert Attempt.objects.count() == 2


@pytest.mark.parametrize(
    ("ago", "words"),
    [(-HOUR, "future"), (3 * HOUR, "before the class began"), (380 * 24 * HOUR, "more than a year")],
)
def test_a_moment_outside_of_the_class_is_refused(*, device, klass, coach, athlete, ago, words) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete), ago=ago)
    assert words in refused(device, {**act, "life": "another"}, "mistakes")


def test_a_class_that_had_ended_takes_no_more(device, klass, coach, athlete) -> None:
    TrainingSession.objects.filter(pk=klass.pk).update(ended_at=timezone.now() - HOUR)
    for kind, body in (
        ("attempt", hold_body(klass, athlete)),
        ("here", {"session": klass.id, "athlete": athlete.id}),
        ("gone", {"session": klass.id, "athlete": athlete.id}),
        ("step", {"session": klass.id, "athlete": athlete.id, "step": step(athlete)}),
    ):
        assert "ended" in refused(device, act_of(kind, coach, body), "mistakes")
    guest = {"session": klass.id, "name": "Tom Reed", "is_minor": True}
    assert "ended" in refused(device, act_of("guest", coach, guest), "mistakes")
    assert not Athlete.objects.filter(guest=True).exists()


def test_what_belongs_to_another_gym_is_gone(*, device, klass, coach, athlete, other_gym: Gym, other_coach) -> None:
    library(other_gym, None)
    noor = make_athlete(other_gym, "Noor Haddad")
    theirs = start_session(by=other_coach, name="Loft class")
    their_attempt = log(other_coach, noor, "pullover-1", 5.0)
    own = hold_body(klass, athlete)
    for kind, body in (
        ("attempt", {**own, "athlete": noor.id}),
        ("attempt", {**own, "step": page_of(other_gym, "pullover-1").id}),
        ("attempt", {**own, "step": uuid4()}),
        ("attempt", {**own, "session": theirs.id}),
        ("here", {"session": klass.id, "athlete": noor.id}),
        ("here", {"session": theirs.id, "athlete": athlete.id}),
        ("end", {"session": theirs.id}),
        ("start", {"name": "Class", "focus": page_of(other_gym, "pullover-1").id}),
        ("void", {"attempt": their_attempt.id, "reason": "wrong"}),
        ("step", {"session": klass.id, "athlete": athlete.id, "step": page_of(other_gym, "pullover-1").id}),
    ):
        assert "in this gym" in refused(device, act_of(kind, coach, body), "gone")
    assert refused(device, act_of("attempt", other_coach, own), "hand_over")


def test_who_is_not_known_yet_is_early(device, klass, coach, athlete) -> None:
    own = hold_body(klass, athlete)
    refused(device, act_of("attempt", coach, {**own, "athlete": uuid4()}), "early")
    refused(device, act_of("attempt", coach, {**own, "session": uuid4()}), "early")


def test_a_closed_step_needs_a_reason_and_a_right(device, klass, coach, coach_two, athlete) -> None:
    held(device, coach_two)
    body = hold_body(klass, athlete, "pullover-3", hold_tenths=None, reps=3)
    assert "give a reason" in refused(device, act_of("attempt", coach, body), "mistakes")
    with_reason = {**body, "closed_reason": "strong from gymnastics"}
    assert "may sign off" in refused(device, act_of("attempt", coach_two, with_reason), "right")
    assert receipt(device, act_of("attempt", coach, with_reason))["status"] == "stored"
    assert Attempt.objects.get().closed_try


def test_a_paused_step_is_refused(device, klass, coach, athlete) -> None:
    make_caution(athlete, coach, loads=["hanging"])
    assert "caution" in refused(device, act_of("attempt", coach, hold_body(klass, athlete)), "mistakes")


def test_an_athlete_who_left_is_refused(device, klass, coach, athlete) -> None:
    Athlete.objects.filter(pk=athlete.pk).update(left_on=timezone.now().date() - timedelta(days=1))
    assert "had left" in refused(device, act_of("attempt", coach, hold_body(klass, athlete)), "mistakes")
    here = {"session": klass.id, "athlete": athlete.id}
    assert "had left" in refused(device, act_of("here", coach, here), "mistakes")


def test_a_low_bar_is_looked_over_whole_and_by_name(device, klass, coach, athlete) -> None:
    reach(coach, athlete, "pullover-6")
    body = {"session": klass.id, "bar": "low bar", "lines": ["tied", "mat"]}
    assert "Not ticked yet" in refused(device, act_of("bar", coach, body), "mistakes")
    assert receipt(device, act_of("bar", coach, {**body, "bar": " "}))["code"] == "mistakes"


@pytest.mark.parametrize("name", ["", "   ", "\x07"])
def test_a_guest_needs_a_name(device, klass, coach, name) -> None:
    guest = act_of("guest", coach, {"session": klass.id, "name": name, "is_minor": False})
    assert receipt(device, guest)["code"] == "mistakes"
    assert not Athlete.objects.filter(guest=True).exists()


def test_who_does_not_hold_the_tablet_is_asked_for_the_code(device, klass, coach, coach_two, athlete) -> None:
    act = act_of("attempt", coach_two, hold_body(klass, athlete))
    assert "code is needed" in refused(device, act, "hand_over")
    held(device, coach_two)
    assert receipt(device, act)["status"] == "stored"
    assert Attempt.objects.get().logged_by == coach_two


def test_a_coach_whose_right_was_taken_back_is_refused(device, klass, coach, owner, athlete) -> None:
    change_rights(by=owner, coach=coach, rights=frozenset())
    assert "may not log" in refused(device, act_of("attempt", coach, hold_body(klass, athlete)), "right")


def test_a_coach_who_left_is_refused(device, klass, coach, owner, athlete) -> None:
    end_membership(by=owner, membership=coach)
    answer = receipt(device, act_of("attempt", coach, hold_body(klass, athlete)))
    assert answer["code"] in {"right", "hand_over"}
    assert answer["reason"]


BROKEN: list[Any] = [None, 7, "act", [], {}, {"id": "no-id", "kind": "attempt"}]


@pytest.mark.parametrize("broken", BROKEN, ids=[str(n) for n in range(len(BROKEN))])
def test_what_is_no_act_is_refused_and_the_others_are_stored(device, klass, coach, athlete, broken) -> None:
    good = act_of("attempt", coach, hold_body(klass, athlete))
    told, stored = receipts(device, broken, good)
    assert (told["status"], told["code"]) == ("refused", "mistakes")
    assert told["id"] == (broken.get("id", "") if isinstance(broken, dict) else "")
    assert stored["status"] == "stored"


def test_a_fault_of_the_server_in_one_act_is_trouble_and_the_others_are_stored(
    *, device, klass, coach, athlete, monkeypatch, caplog
) -> None:
    def fails(_call) -> None:
        raise RuntimeError

    monkeypatch.setattr(taking, "KINDS", {**KINDS, "end": fails})
    good = [act_of("attempt", coach, hold_body(klass, athlete)) for _ in range(2)]
    first, told, last = receipts(device, good[0], act_of("end", coach, {"session": klass.id}), good[1])
    assert [first["status"], last["status"]] == ["stored"] * 2
    assert told["code"] == "trouble"
    assert "could not be stored" in caplog.text
    assert FloorAct.objects.count() == 2


def test_a_batch_has_one_to_twenty_acts(device, klass, coach, athlete) -> None:
    acts = [act_of("attempt", coach, hold_body(klass, athlete)) for _ in range(21)]
    assert device.post("acts/", envelope(*acts)).status_code == 422
    assert device.post("acts/", envelope()).status_code == 422
    assert Attempt.objects.count() == 0
    assert len(receipts(device, *acts[:20])) == 20
