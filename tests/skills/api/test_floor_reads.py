"""What a tablet reads: the day, a class, and nothing twice that it has already."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership, Person
from athletes.services.consents import record_consent
from skills.models import Step, TrainingSession
from skills.queries.books import book_of
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution
from skills.services.sessions import choose_step, end_session, mark_present, start_session
from tests.factories.athletes import make_athlete, years_before_today
from tests.factories.bars import check_hole, make_high_bar, make_low_bar
from tests.factories.skills import check_bar_on, library, log, meet, pass_step, reach, start_class, step_of
from tests.helpers.api import utc
from tests.helpers.floor import Device, enrolled, held
from tests.helpers.floor_acts import act_of, receipt

NOON = datetime(2026, 3, 11, 11, tzinfo=UTC)


@pytest.fixture
def device(gym: Gym, owner: Membership, coach: Membership) -> Device:
    """A tablet that Cleo holds, in a gym with the shipped skills."""
    library(gym)
    tablet = enrolled(owner)
    held(tablet, coach)
    return tablet.by(coach)


@pytest.fixture
def session(device: Device, coach: Membership, athlete: Athlete) -> TrainingSession:
    return start_class(coach, athlete)


@pytest.fixture
def board(device: Device, session: TrainingSession) -> Callable[[], dict[str, Any]]:
    def asked() -> dict[str, Any]:
        answer = device.get(f"sessions/{session.id}/")
        assert answer.status_code == 200, answer.content
        return dict(answer.json())

    return asked


@pytest.fixture
def tile(board: Callable[[], dict[str, Any]]) -> Callable[[], dict[str, Any]]:
    """The only tile of the class."""
    return lambda: board()["tiles"][0]


def named(gym: Gym, code: str) -> str:
    return str(step_of(gym, code).id)


# ---- The day --------------------------------------------------------------------------------------------
def test_the_day_has_all_to_work_without_a_network(
    device: Device, coach: Membership, athlete: Athlete, minor: Athlete, session: TrainingSession
) -> None:
    check_bar_on(coach)
    day = device.get("today/").json()
    assert day["gym"] == {
        "id": str(coach.gym_id),
        "name": "Harbour Hall",
        "time_zone": "Europe/Berlin",
        "asks_consent": False,
    }
    assert day["coach"] == {"id": str(coach.id), "name": "Cleo Adeyemi", "may_sign_off": True}
    assert [(row["number"], row["name"], row["guest"]) for row in day["athletes"]] == [
        (athlete.number, "Ada Lindqvist", False),
        (minor.number, "M. O.", False),
    ]
    assert [(row["name"], row["coach"], row["ended_at"], row["present"]) for row in day["sessions"]] == [
        ("Monday class", "Cleo Adeyemi", None, [str(athlete.id)])
    ]
    assert day["bars"] == ["low bar by the door"]
    assert [(row["bar"], row["by"]) for row in day["bar_checks"]] == [("low bar by the door", "Cleo Adeyemi")]
    assert day["words"]["assistances"][0] == ["none", "no help"]
    assert {len(day["words"][name]) for name in ("void_reasons", "pain_choices")} == {3}
    assert day["usual_name"].endswith(" class")


def test_low_bars_of_the_list_are_offered_by_their_holes(
    device: Device, coach: Membership, session: TrainingSession
) -> None:
    low = make_low_bar(coach.gym, holes=3)
    make_high_bar(coach.gym)
    check_hole(coach, low, 2)
    day = device.get("today/").json()
    assert day["bars"] == [*(f"{low.name}, hole {hole}" for hole in (1, 2, 3)), low.name]
    assert [row["bar"] for row in day["bar_checks"]] == [f"{low.name}, hole 2"]


def test_a_step_of_the_day_has_its_words_and_its_risks(device: Device, gym: Gym) -> None:
    step = next(row for row in device.get("today/").json()["steps"] if row["code"] == "pullover-3a")
    assert (step["id"], step["skill"], step["is_hold"], step["inverted"]) == (
        named(gym, "pullover-3a"),
        "Bar pullover",
        True,
        True,
    )
    assert {"code", "name", "cue", "dangerous"} == {*step["faults"][0]}
    assert {"code", "text"} == {*step["checkpoints"][0]}
    assert step["cautions"]
    assert step["getting_down"]


def test_steps_of_two_skills_that_are_called_alike_are_told_with_their_skills(
    device: Device, gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    book, code = book_of(gym), "handstand-2"
    other = replace(book.steps[code], name=book.steps["pullover-1"].name.upper())
    alike = replace(book, steps={**book.steps, code: other})
    monkeypatch.setattr("skills.floor_words.book_of", lambda _gym: alike)
    names = {row["code"]: row["name"] for row in device.get("today/").json()["steps"]}
    assert names["pullover-1"] == "Tucked hold in a long-arm hang (Bar pullover)"
    assert names[code] == f"TUCKED HOLD IN A LONG-ARM HANG ({other.skill_name})"
    assert other.skill_name != "Bar pullover"
    told = {row for row, name in names.items() if "(" in name}
    assert told == {"pullover-1", code}


def test_classes_of_yesterday_are_left_out_unless_they_run_and_last_times_people_are_told(
    device: Device, gym: Gym, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    with time_machine.travel(timezone.now() - timedelta(days=7)):
        end_session(by=coach, session=start_class(coach, athlete, minor, name="Evening"))
    with time_machine.travel(timezone.now() - timedelta(days=2)):
        start_class(coach, minor, name="Forgotten")
    now = start_class(coach, athlete, name="Evening")
    sessions = device.get("today/").json()["sessions"]
    assert [row["name"] for row in sessions] == ["Evening", "Forgotten"]
    assert sessions[0]["id"] == str(now.id)
    assert sessions[0]["usual"] == [str(athlete.id), str(minor.id)]
    assert sessions[1]["usual"] == []


def test_who_left_is_not_on_the_roster_of_a_tablet(device: Device, athlete: Athlete, minor: Athlete) -> None:
    athlete.left_on = timezone.now().date() - timedelta(days=1)
    athlete.save(update_fields=["left_on"])
    assert [row["id"] for row in device.get("today/").json()["athletes"]] == [str(minor.id)]


def test_risk_notes_are_told_by_what_they_apply_to(device: Device) -> None:
    day = device.get("today/").json()
    flags = {when for when, _ in day["words"]["risk_notes"]}
    assert flags == {"risky", "inverted", "over_bar", "low_bar"}
    assert all(flag in step for step in day["steps"] for flag in flags - {"risky"})


# ---- The tiles ------------------------------------------------------------------------------------------
def test_a_tile_tells_the_step_in_hand_what_is_missing_and_the_last_try(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete, session: TrainingSession
) -> None:
    log(coach, athlete, "pullover-1", 5.2, session=session, assistance="band", note="grip first")
    found = tile()
    assert (found["id"], found["number"], found["name"]) == (str(athlete.id), athlete.number, "Ada Lindqvist")
    assert (found["step"], found["chosen"], found["state"]) == (named(gym, "pullover-1"), False, "working")
    assert found["last"].startswith("5.2 s, clean, band · ")
    assert found["note"] == "grip first"
    assert found["with"] == {"assistance": "band", "variant": ""}
    assert "5 s" in found["missing"]


def test_a_tile_remembers_help_at_each_step_and_not_what_nobody_judged(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete, session: TrainingSession
) -> None:
    log(coach, athlete, "pullover-1", 5.0, session=session, assistance="band")
    log(coach, athlete, "pullover-1", 5.0, session=session, source="timed_only")
    by_step = {row["step"]: row for row in tile()["open"]}
    assert by_step[named(gym, "pullover-1")]["assistance"] == "band"
    assert {row["assistance"] for step, row in by_step.items() if step != named(gym, "pullover-1")} == {"none"}


def test_a_tile_lists_every_open_step_the_passed_ones_too_and_no_closed_one(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    pass_step(coach, athlete, "pullover-1")
    by_step = {row["step"]: row for row in tile()["open"]}
    assert (by_step[named(gym, "pullover-1")]["state"], by_step[named(gym, "pullover-1")]["missing"]) == ("passed", "")
    assert by_step[named(gym, "pullover-2")]["missing"]
    assert named(gym, "pullover-3a") not in by_step


def test_a_tile_says_that_a_coach_chose_the_step(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete, session: TrainingSession
) -> None:
    pass_step(coach, athlete, "pullover-1")
    attendance = mark_present(by=coach, session=session, athlete=athlete)
    choose_step(by=coach, attendance=attendance, step=step_of(gym, "pullover-1"))
    found = tile()
    assert (found["step"], found["chosen"], found["state"]) == (named(gym, "pullover-1"), True, "passed")


def test_a_tile_names_paused_steps_and_the_caution_that_matters(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason="hand"
    )
    found = tile()
    assert found["cautions"] == ["no hanging"]
    assert named(gym, "pullover-1") in found["paused"]
    assert found["state"] == "paused"


def test_a_tile_tells_a_gate_that_waits(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    assert {"step": named(gym, "pullover-3a"), "gate": "finish", "words": "has it"} in tile()["waiting"]


def test_a_tile_tells_the_cue_of_the_last_fault(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    code, cue = next((code, cue) for code, cue in library(gym).steps["pullover-1"].cues.items() if cue)
    log(coach, athlete, "pullover-1", 4.0, faults=(code,))
    assert tile()["cue"] == cue


def test_who_comes_back_after_weeks_is_handed_the_step_before(
    device: Device, gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    with time_machine.travel(timezone.now() - timedelta(days=24)):
        pass_step(coach, athlete, "pullover-1")
    session = start_class(coach, athlete)
    found = device.get(f"sessions/{session.id}/").json()["tiles"][0]
    assert (found["step"], found["back"][:10]) == (named(gym, "pullover-1"), "back after")
    assert found["instead_of"] == named(gym, "pullover-2")


def test_once_a_coach_goes_on_with_the_other_step_nothing_is_proposed_any_more(
    device: Device, gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    with time_machine.travel(timezone.now() - timedelta(days=24)):
        pass_step(coach, athlete, "pullover-1")
    session = start_class(coach, athlete)
    body = {"session": str(session.id), "athlete": str(athlete.id), "step": named(gym, "pullover-2")}
    receipt(device, act_of("step", coach, body))
    found = device.get(f"sessions/{session.id}/").json()["tiles"][0]
    told = (found["step"], found["chosen"], found["back"], found["instead_of"])
    assert told == (named(gym, "pullover-2"), True, "", None)


def test_a_gym_that_asks_for_consent_says_where_there_is_none(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    Gym.objects.filter(pk=gym.pk).update(asks_consent=True)
    assert tile()["no_consent"] == ["no consent to hands-on spotting"]
    record_consent(by=coach, athlete=athlete, kind="spotting", given=True)
    assert tile()["no_consent"] == []


def test_a_step_without_consent_is_stopped_open_or_not_and_another_is_in_hand(
    tile: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    pass_step(coach, athlete, "pullover-3")
    before = tile()
    Gym.objects.filter(pk=gym.pk).update(asks_consent=True)
    inverted = {str(row.id) for row in Step.objects.filter(gym=gym, inverted=True)}
    stopped = tile()
    assert {*stopped["stopped"]} == inverted
    assert inverted <= {*stopped["paused"]}
    assert (before["stopped"], before["paused"]) == ([], [])
    assert stopped["step"] not in inverted
    for kind in ("inversion", "spotting"):
        record_consent(by=coach, athlete=athlete, kind=kind, given=True)
    assert tile() == before


@pytest.mark.parametrize(("extent", "name"), [("full_name", "Mia Okafor"), ("initials", "M. O."), ("number", "")])
def test_the_day_and_the_board_hold_no_more_of_a_name_than_was_agreed(
    device: Device, coach: Membership, minor: Athlete, extent: str, name: str
) -> None:
    session = start_class(coach, minor)
    record_consent(by=coach, athlete=minor, kind="board", given=True, extent=extent)
    day, board = device.get("today/").json(), device.get(f"sessions/{session.id}/").json()
    assert [row["name"] for row in day["athletes"] if row["id"] == str(minor.id)] == [name]
    assert [row["name"] for row in board["tiles"]] == [name]
    assert ("Okafor" in f"{day} {board}") is (extent == "full_name")


# ---- The log --------------------------------------------------------------------------------------------
def test_the_log_has_the_last_attempts_of_the_class_taken_back_ones_too(
    board: Callable[[], dict[str, Any]], gym: Gym, coach: Membership, athlete: Athlete, session: TrainingSession
) -> None:
    log(coach, athlete, "pullover-1", 3.0)  # in no class
    first = log(coach, athlete, "pullover-1", 5.2, session=session)
    second = log(coach, athlete, "pullover-1", 4.0, session=session, source="timed_only")
    void_attempt(by=coach, attempt=first, reason="wrong athlete")
    rows = board()["log"]
    assert [(row["id"], row["hold_tenths"], row["source"], row["is_void"]) for row in rows] == [
        (str(second.id), 40, "timed_only", False),
        (str(first.id), 52, "judged", True),
    ]
    assert (rows[1]["words"], rows[1]["by"], rows[1]["at"]) == (
        "5.2 s, clean",
        "Cleo Adeyemi",
        utc(first.happened_at),
    )


# ---- The same again -------------------------------------------------------------------------------------
@pytest.mark.parametrize("place", ["today/", "sessions/{}/"])
def test_what_a_tablet_has_already_is_not_sent_again(
    device: Device, session: TrainingSession, coach: Membership, athlete: Athlete, place: str
) -> None:
    with time_machine.travel(NOON + timedelta(days=400), tick=False):
        held(device, coach)
        address = place.format(session.id)
        first = device.get(address)
        same = device.get(address, **{"If-None-Match": first.headers["ETag"]})
        weak = device.get(address, **{"If-None-Match": f"W/{first.headers['ETag']}"})
        assert [answer.status_code for answer in (first, same, weak)] == [200, 304, 304]
        assert (same.content, same.headers["ETag"]) == (b"", first.headers["ETag"])
        assert first.headers["Cache-Control"] == "private, no-store"
        log(coach, athlete, "pullover-1", 5.0, session=session)
        later = device.get(address, **{"If-None-Match": first.headers["ETag"]})
        assert later.status_code == 200
        assert later.json()["stamp"] != first.json()["stamp"]


def test_time_alone_changes_the_stamp_within_five_minutes(device: Device, coach: Membership) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        held(device, coach)
        before = device.get("today/").headers["ETag"]
        clock.shift(timedelta(minutes=5))
        assert device.get("today/", **{"If-None-Match": before}).status_code == 200


def test_a_try_dated_a_moment_ahead_changes_the_stamp_once_its_moment_has_come(
    device: Device, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    later, address = NOON + timedelta(days=400), f"sessions/{session.id}/"
    with time_machine.travel(later + timedelta(seconds=2), tick=False):
        log(coach, athlete, "pullover-1", 5.0, session=session)
    with time_machine.travel(later, tick=False) as clock:
        held(device, coach)
        tag = {"If-None-Match": device.get(address).headers["ETag"]}
        statuses = [device.get(address, **tag).status_code]
        clock.shift(timedelta(seconds=3))
        statuses.append(device.get(address, **tag).status_code)
    assert statuses == [304, 200]


def test_the_day_of_one_coach_is_not_taken_for_anothers(
    device: Device, coach: Membership, coach_two: Membership
) -> None:
    held(device, coach_two, code="570318")
    tag = device.get("today/").headers["ETag"]
    other = device.by(coach_two).get("today/", **{"If-None-Match": tag})
    assert (other.status_code, other.json()["coach"]["name"]) == (200, "Timo Laine")


def test_a_coach_who_is_known_to_be_under_age_stands_by_initials(
    device: Device, coach: Membership, athlete: Athlete
) -> None:
    session = start_class(coach, athlete)
    log(coach, athlete, "pullover-1", 5.0, session=session)
    Person.objects.filter(pk=coach.person_id).update(birth_on=years_before_today(17))
    day, board = device.get("today/").json(), device.get(f"sessions/{session.id}/").json()
    names = {day["coach"]["name"], day["sessions"][0]["coach"], board["session"]["coach"], board["log"][0]["by"]}
    assert names == {"C. A."}


def test_a_class_of_another_gym_is_not_there(device: Device, other_gym: Gym, other_coach: Membership) -> None:
    library(other_gym)
    theirs = start_session(by=other_coach, name="Uptown", focus=None)
    assert device.get(f"sessions/{theirs.id}/").status_code == 404


# ---- What it costs --------------------------------------------------------------------------------------
def cost(device: Device, address: str, **headers: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        device.get(address, **headers)
    return len(asked)


def fill(coach: Membership, session: TrainingSession, many: int) -> None:
    for number in range(many):
        athlete = make_athlete(session.gym, f"Adult {number}")
        mark_present(by=coach, session=session, athlete=athlete)
        log(coach, athlete, "pullover-1", 5.0, session=session, note="grip first")


@pytest.mark.parametrize("many", [1, 3, 30])
def test_a_board_of_thirty_costs_no_more_queries_than_one_of_three(
    device: Device, coach: Membership, many: int
) -> None:
    session = start_session(by=coach, name="Monday class", focus=None)
    fill(coach, session, many)
    address = f"sessions/{session.id}/"
    first, again = cost(device, address), cost(device, address)
    tag = device.get(address).headers["ETag"]
    assert (first, again, cost(device, address, **{"If-None-Match": tag})) == (23, 17, 3)


@pytest.mark.parametrize("many", [1, 30])
def test_the_day_costs_as_many_queries_for_thirty(device: Device, coach: Membership, many: int) -> None:
    fill(coach, start_session(by=coach, name="Monday class", focus=None), many)
    assert cost(device, "today/") == 14
