"""Acts of a tablet: each stored once, none held up by another."""

from datetime import timedelta
from random import Random
from uuid import UUID, uuid4

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, AuditEntry, Caution, Tablet
from athletes.services.audit import first_broken_link
from athletes.services.hand_overs import leave
from skills.models import Attempt, AttemptVoid, Attendance, BarCheck, FloorAct, TrainingSession
from skills.queries.books import book_of
from skills.services.readiness import rebuild_athlete
from skills.services.sessions import end_session
from tests.factories.athletes import make_athlete
from tests.factories.bars import make_high_bar, make_low_bar
from tests.factories.skills import log, page_of, step_of
from tests.helpers.floor import enrolled, held
from tests.helpers.floor_acts import (
    HOUR,
    act_of,
    envelope,
    hold_body,
    receipt,
    receipts,
    refused,
    result_body,
    send,
    step,
)
from tests.helpers.standing import standing_now

SECOND = timedelta(seconds=1)


# ---- One attempt -----------------------------------------------------------------------------------------


def test_an_attempt_is_stored_with_the_moment_of_the_touch(device, klass, coach, athlete) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete), ago=90 * SECOND)
    answer = send(device, act)
    (stored,) = answer["receipts"]
    row, kept = Attempt.objects.get(), FloorAct.objects.get()
    assert (stored["id"], stored["status"], stored["news"]) == (act["id"], "stored", [])
    assert (str(row.id), row.hold_tenths, row.logged_by, row.source) == (act["id"], 50, coach, "judged")
    assert abs(row.happened_at - (timezone.now() - 90 * SECOND)) < 5 * SECOND
    assert (kept.id, kept.kind, kept.happened_at) == (row.id, "attempt", row.happened_at)
    assert [tile["id"] for tile in answer["tiles"]] == [str(athlete.id)]
    assert [line["id"] for line in answer["log"]] == [act["id"]]
    assert answer["tiles"][0]["last"].startswith("5 s, clean")
    assert answer["stamp"] == device.by(coach).get(f"sessions/{klass.id}/").json()["stamp"]


def test_an_attempt_that_passes_a_step_brings_the_news(device, klass, coach, athlete) -> None:
    log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    log(coach, athlete, "pullover-1", 5.0, days_ago=3)
    act = act_of("attempt", coach, hold_body(klass, athlete))
    first = receipt(device, act)
    assert first["news"][0] == "Passed: 1 Tucked hold in a long-arm hang"
    assert [line.split(":")[0] for line in first["news"][1:]] == ["Opens"] * 3
    assert receipt(device, act) == first


def test_a_hold_that_shows_a_step_again_says_that_it_counts_again_and_not_that_it_passed(
    device, klass, coach, athlete
) -> None:
    for days in (41, 40, 40):
        log(coach, athlete, "pullover-1", 5.0, days_ago=days)
    assert standing_now(athlete, "pullover-1").base == "recheck"
    news = receipt(device, act_of("attempt", coach, hold_body(klass, athlete)))["news"]
    assert standing_now(athlete, "pullover-1").base == "passed"
    assert news == ["Counts again: 1 Tucked hold in a long-arm hang"]


def test_a_clock_that_is_hours_off_moves_nothing_and_all_three_times_are_kept(device, klass, coach, athlete) -> None:
    ahead = 7 * HOUR
    act = act_of("attempt", coach, hold_body(klass, athlete, hold_tenths=199), ago=60 * SECOND, ahead=ahead)
    send(device, act, ahead=ahead)
    row, kept = Attempt.objects.get(), FloorAct.objects.get()
    assert abs(row.happened_at - (timezone.now() - 60 * SECOND)) < 5 * SECOND
    assert row.hold_tenths == 199
    assert abs(kept.device_at - row.happened_at - ahead) < 5 * SECOND
    assert abs(kept.offset_ms + ahead / timedelta(milliseconds=1)) < 5000
    assert abs(kept.recorded_at - timezone.now()) < 5 * SECOND
    assert abs((Tablet.objects.get().offset_ms or 0) + ahead / timedelta(milliseconds=1)) < 5000


def test_a_doubt_is_kept_and_told(device, klass, coach, athlete) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete, source="timed_only", doubt="slept"))
    (line,) = send(device, act)["log"]
    assert line["doubt"] == "slept"
    assert line["words"] == "5 s, clean, timed only (the device slept meanwhile)"
    judged = act_of("mend", coach, {"attempt": act["id"], **result_body()})
    receipt(device, judged)
    row = Attempt.objects.get(pk=judged["id"])
    assert (row.source, row.doubt) == ("judged", "")


def test_one_attempt_in_a_class_of_thirty_is_answered_in_ten_kilobytes(device, klass, coach, gym, athlete) -> None:
    for number in range(28):
        Attendance.objects.create(gym=gym, session=klass, athlete=make_athlete(gym, f"Name{number} Surname"))
    act = act_of("attempt", coach, hold_body(klass, athlete, note="quiet lats, long arms"))
    answer = device.post("acts/", envelope(act))
    assert Attendance.objects.count() == 30
    assert len(answer.content) <= 10_000


def test_an_attempt_costs_a_fixed_number_of_queries(
    *, device, klass, coach, athlete, minor, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    receipt(device, act_of("attempt", coach, hold_body(klass, minor)))
    receipt(device, act_of("attempt", coach, hold_body(klass, athlete)))
    acts = [act_of("attempt", coach, hold_body(klass, athlete)) for _ in range(3)]
    for act in acts:
        body = envelope(act)
        with django_assert_num_queries(QUERIES_OF_AN_ATTEMPT):
            device.post("acts/", body)


QUERIES_OF_AN_ATTEMPT = 43


# ---- The same again --------------------------------------------------------------------------------------


def test_the_same_act_again_is_one_row_and_the_same_receipt(device, klass, coach, athlete) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    first, second = receipts(device, act, act)
    assert first == second == receipt(device, act)
    assert (Attempt.objects.count(), FloorAct.objects.count()) == (1, 1)


def test_the_same_act_is_known_after_the_coach_let_go_of_the_tablet(device, klass, coach, athlete) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    first = receipt(device, act)
    leave(tablet=device.tablet)
    assert receipt(device, act) == first


def test_an_act_sent_again_tells_nothing_about_people_while_its_coach_does_not_hold_the_tablet(
    device, klass, coach, athlete
) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    assert [row["name"] for row in send(device, act)["tiles"]] == [athlete.board_name]
    leave(tablet=device.tablet)
    again = send(device, act)
    assert ([row["status"] for row in again["receipts"]], again["tiles"], again["log"]) == (["stored"], [], [])


@pytest.mark.parametrize("change", [{"hold_tenths": 51}, {"source": "counted"}, {"note": "short arms"}])
def test_an_id_with_other_content_is_taken(device, klass, coach, athlete, change) -> None:
    act = act_of("attempt", coach, hold_body(klass, athlete))
    receipt(device, act)
    assert "used before" in refused(device, {**act, "body": {**act["body"], **change}}, "taken")
    assert Attempt.objects.get().hold_tenths == 50


def test_the_id_of_an_attempt_that_no_tablet_sent_is_taken(device, klass, coach, athlete) -> None:
    other = log(coach, athlete, "pullover-1", 5.0)
    refused(device, act_of("attempt", coach, hold_body(klass, athlete), act_id=other.id), "taken")
    refused(device, act_of("start", coach, {"name": "Class", "focus": None}, act_id=klass.id), "taken")


def test_here_sent_again_after_gone_changes_nothing(device, klass, coach, gym) -> None:
    nadia = make_athlete(gym, "Nadia Sato")
    body = {"session": klass.id, "athlete": nadia.id}
    here, gone = act_of("here", coach, body), act_of("gone", coach, body)
    receipts(device, here)
    assert Attendance.objects.filter(athlete=nadia).exists()
    receipts(device, gone)
    assert [row["status"] for row in receipts(device, here, gone, here)] == ["stored"] * 3
    assert not Attendance.objects.filter(athlete=nadia).exists()


# ---- The other kinds -------------------------------------------------------------------------------------


def test_a_class_made_on_the_device_from_start_to_end(device, coach, athlete, gym) -> None:
    start = act_of("start", coach, {"name": " Evening class ", "focus": page_of(gym, "pullover-1").id}, ago=HOUR)
    session = UUID(start["id"])
    guest = act_of("guest", coach, {"session": session, "name": "Tom  Reed", "is_minor": False}, ago=50 * SECOND)
    here = act_of("here", coach, {"session": session, "athlete": athlete.id}, ago=50 * SECOND)
    step = act_of("step", coach, {"session": session, "athlete": athlete.id, "step": page_of(gym, "pullover-1").id})
    lines = ["tied", "unloaded", "anchored", "clear", "mat"]
    bar = act_of("bar", coach, {"session": session, "bar": "low bar", "lines": lines})
    end = act_of("end", coach, {"session": session})
    answer = send(device, start, guest, here, step, bar, end)
    assert [row["status"] for row in answer["receipts"]] == ["stored"] * 6
    stored = TrainingSession.objects.get(pk=session)
    assert (stored.name, stored.coach, stored.focus) == ("Evening class", coach, step_of(gym, "pullover-1"))
    assert abs(stored.starts_at - (timezone.now() - HOUR)) < 5 * SECOND
    assert stored.ended_at is not None
    tom = Athlete.objects.get(pk=guest["id"])
    assert (tom.guest, tom.person.full_name, tom.board_name) == (True, "Tom Reed", "T. R.")
    assert {row.athlete_id for row in stored.attendances.all()} == {tom.id, athlete.id}
    assert stored.attendances.get(athlete=athlete).step == step_of(gym, "pullover-1")
    assert BarCheck.objects.get().checked_by == coach
    assert {tile["id"] for tile in answer["tiles"]} == {guest["id"], str(athlete.id)}
    assert AuditEntry.objects.filter(act="guest_enrolled").count() == 1
    assert first_broken_link(gym) is None


def test_a_bar_of_the_list_is_known_by_its_name_and_hole(device, klass, coach) -> None:
    low, high = make_low_bar(coach.gym), make_high_bar(coach.gym)
    lines = ["tied", "unloaded", "anchored", "clear", "mat"]
    names = ("low bar by the door, hole 8", "low bar by the door, hole 31", "low bar by the door", high.name)
    acts = [act_of("bar", coach, {"session": klass.id, "bar": name, "lines": lines}) for name in names]
    assert [row["status"] for row in receipts(device, *acts)] == ["stored"] * 4
    checks = {check.id: check for check in BarCheck.objects.all()}
    found = [checks[UUID(act["id"])] for act in acts]
    assert [(check.bar, check.of, check.hole) for check in found] == [
        ("low bar by the door", low, 8),
        *((name, None, None) for name in names[1:]),  # there is no such hole, none is said, it is no low bar
    ]


def test_what_happened_before_the_end_is_stored_after_it(device, klass, coach, athlete, gym) -> None:
    end_session(by=coach, session=klass)
    nadia = make_athlete(gym, "Nadia Sato")
    acts = [
        act_of("here", coach, {"session": klass.id, "athlete": nadia.id}, ago=600 * SECOND),
        act_of("attempt", coach, hold_body(klass, nadia), ago=300 * SECOND),
    ]
    assert [row["status"] for row in receipts(device, *acts)] == ["stored"] * 2


def test_a_step_that_is_not_open_is_put_into_nobodys_hand(device, klass, coach, athlete, gym) -> None:
    body = {"session": klass.id, "athlete": athlete.id, "step": page_of(gym, "pullover-3").id}
    assert "not open" in refused(device, act_of("step", coach, body), "mistakes")


def test_void_mend_and_move(device, klass, coach, athlete, minor) -> None:
    first, second = (act_of("attempt", coach, hold_body(klass, athlete, note="early")) for _ in range(2))
    void = act_of("void", coach, {"attempt": first["id"], "reason": "wrong time"})
    mend = act_of("mend", coach, {"attempt": second["id"], **result_body(faults=["shoulders-close"])})
    move = act_of("move", coach, {"attempt": mend["id"], "athlete": minor.id, "step": step(minor), "closed_reason": ""})
    answer = send(device, first, second, void, mend, move)
    assert [row["status"] for row in answer["receipts"]] == ["stored"] * 5
    moved = Attempt.objects.get(void=None)
    assert (str(moved.id), moved.athlete, moved.faults) == (move["id"], minor, ["shoulders-close"])
    assert moved.happened_at == Attempt.objects.get(pk=second["id"]).happened_at
    assert {line["id"]: line["is_void"] for line in answer["log"]} == {
        first["id"]: True,
        second["id"]: True,
        mend["id"]: True,
        move["id"]: False,
    }


def test_a_void_before_its_attempt_is_early_and_stored_later(device, klass, coach, athlete) -> None:
    attempt = act_of("attempt", coach, hold_body(klass, athlete))
    void = act_of("void", coach, {"attempt": attempt["id"], "reason": "wrong athlete"})
    assert "not known here yet" in refused(device, void, "early")
    assert [row["status"] for row in receipts(device, attempt, void)] == ["stored"] * 2
    assert AttemptVoid.objects.get().attempt_id == UUID(attempt["id"])


def test_what_is_early_for_more_than_a_day_is_gone(device, klass, coach) -> None:
    void = act_of("void", coach, {"attempt": uuid4(), "reason": "wrong athlete"}, ago=25 * HOUR)
    refused(device, {**void, "life": "another"}, "gone")


def test_a_void_of_what_was_taken_back_is_as_well(device, klass, coach, athlete) -> None:
    attempt = act_of("attempt", coach, hold_body(klass, athlete))
    voids = [act_of("void", coach, {"attempt": attempt["id"], "reason": "wrong time"}) for _ in range(2)]
    assert [row["status"] for row in receipts(device, attempt, *voids)] == ["stored"] * 3
    assert AttemptVoid.objects.count() == 1


def test_a_mend_of_a_mended_one_is_refused_and_the_newer_stands(device, klass, coach, athlete) -> None:
    attempt = act_of("attempt", coach, hold_body(klass, athlete))
    one, two = (act_of("mend", coach, {"attempt": attempt["id"], **result_body(hold_tenths=n)}) for n in (60, 70))
    assert [row["status"] for row in receipts(device, attempt, one, one)] == ["stored"] * 3
    assert "taken back before" in refused(device, two, "mistakes")
    assert Attempt.objects.get(void=None).hold_tenths == 60


@pytest.mark.parametrize("kind", ["attempt", "mend"])
def test_pain_pauses_at_once_also_when_it_is_said_afterwards(device, klass, coach, athlete, kind) -> None:
    first = act_of("attempt", coach, hold_body(klass, athlete, pain=kind == "attempt"))
    mend = act_of("mend", coach, {"attempt": first["id"], **result_body(pain=True)})
    (tile,) = send(device, first, *([mend] if kind == "mend" else []))["tiles"]
    assert Caution.objects.get().athlete == athlete
    assert (tile["state"], standing_now(athlete, "pullover-1").state) == ("paused", "paused")
    assert rebuild_athlete(book=book_of(athlete.gym), athlete=athlete, now=timezone.now(), store=False) == ()


# ---- Two tablets, and any order --------------------------------------------------------------------------


def test_two_tablets_see_each_others_results(*, device, klass, coach, coach_two, owner, athlete, minor) -> None:
    other = enrolled(owner, name="by the rings")
    held(other, coach_two)
    receipt(device, act_of("attempt", coach, hold_body(klass, athlete)))
    receipt(other, act_of("attempt", coach_two, hold_body(klass, minor)))
    boards = [each.by(by).get(f"sessions/{klass.id}/").json() for each, by in ((device, coach), (other, coach_two))]
    assert boards[0]["log"] == boards[1]["log"]
    assert [line["by"] for line in boards[0]["log"]] == ["Timo Laine", "Cleo Adeyemi"]


def test_acts_in_any_order_and_up_to_three_times_are_one_row_each_with_its_time(device, coach, gym, klass) -> None:
    chance = Random(4)
    people = [make_athlete(gym, f"Name{number} Surname") for number in range(12)]
    acts = [
        act_of("attempt", coach, hold_body(klass, chance.choice(people)), ago=chance.randrange(7000) * SECOND)
        for _ in range(500)
    ]
    expected = {act["id"]: act["device_at"] for act in acts}
    sent = [act for act in acts for _ in range(chance.randint(1, 3))]
    chance.shuffle(sent)
    while sent:
        size = chance.randint(1, 20)
        batch, sent = sent[:size], sent[size:]
        assert {row["status"] for row in receipts(device, *batch)} == {"stored"}
    rows = Attempt.objects.in_bulk()
    assert {str(key) for key in rows} == {*expected}
    assert FloorAct.objects.count() == 500
    for row in FloorAct.objects.all():
        assert row.happened_at == rows[row.id].happened_at
        assert abs(row.happened_at - row.device_at) < 5 * SECOND


def test_dependents_in_any_order_are_stored_in_the_end(device, coach, gym) -> None:
    chance = Random(7)
    start = act_of("start", coach, {"name": "Class", "focus": None}, ago=HOUR)
    guest = act_of("guest", coach, {"session": start["id"], "name": "Tom Reed", "is_minor": False}, ago=30 * SECOND)
    body = {"session": start["id"], "athlete": guest["id"], "step": str(step_of(gym, "pullover-1").id)}
    attempt = act_of("attempt", coach, {**result_body(), **body, "closed_reason": "", "note": "", "doubt": ""})
    mend = act_of("mend", coach, {"attempt": attempt["id"], **result_body(hold_tenths=60)})
    void = act_of("void", coach, {"attempt": mend["id"], "reason": "wrong time"})
    waiting = [start, guest, attempt, mend, void]
    for _ in range(5):
        chance.shuffle(waiting)
        for row in receipts(device, *waiting):
            assert row["status"] == "stored" or row["code"] == "early", row
    assert {row["status"] for row in receipts(device, *waiting)} == {"stored"}
    assert (Attempt.objects.count(), AttemptVoid.objects.count(), FloorAct.objects.count()) == (2, 2, 5)
