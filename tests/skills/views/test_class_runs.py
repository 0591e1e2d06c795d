"""A class run by its plan: the wall, the strip above the board, the sheet of paper; who may read and tap what."""

import io
import re
from datetime import UTC, datetime, timedelta

import pypdf
import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import Athlete
from skills.core.rotation.asks import Post
from skills.models import RotationMark, WorkPlace
from skills.services.cautions import enter_caution
from skills.services.class_runs import mark_rotation
from skills.services.sessions import end_session, mark_present, unmark_present
from tests.factories.athletes import make_athlete, make_consent
from tests.factories.class_plans import make_hall
from tests.factories.class_runs import Told, Turns, keep_plan
from tests.factories.skills import library, start_class

NOON = datetime(2026, 5, 20, 10, 0, tzinfo=UTC)  # 12:00 in Berlin
HTMX = {"HX-Request": "true"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def at():
    with time_machine.travel(NOON, tick=False) as clock:
        yield lambda minutes: clock.move_to(NOON + timedelta(minutes=minutes))


@pytest.fixture
def session(at, coach, athlete, minor):
    """Ada and Mia, three rotations of ten minutes after five; Mia rests in the second one."""
    library(coach.gym)
    session = start_class(coach, athlete, minor)
    hall = make_hall(coach.gym)
    told: Turns = {
        athlete: [("pullover-1", "floor", None), ("pullover-2", "low", 7), ("pullover-1", "rings", None)],
        minor: [("pullover-1", "low", 5), None, ("pullover-1", "low", 9)],
    }
    keep_plan(coach, session, told, hall, posts=[Post(1, str(hall["low"].id), "spots")])
    return session


def wall(client, session, **headers):
    return client.get(reverse("class_wall", args=[session.id]), headers=headers)


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).replace(" ,", ",").split())


# ---- The wall ----------------------------------------------------------------------------------------------------


def test_the_wall_says_who_is_where_now_and_what_comes_next(client_of, coach, session, at):
    at(16)
    answer = wall(client_of(coach), session)
    now, last, end = (each.wall for each in answer.context["walls"])
    assert (now.phase, now.then, now.until) == ("Rotation 2 of 3", "rotation 3", NOON + timedelta(minutes=25))
    assert now.resets == ("Re-set low bar from hole 5 to hole 7 (about 3 minutes), then look it over",)
    assert now.reset_until == NOON + timedelta(minutes=18)
    assert now.resets_ahead == ("Re-set low bar from hole 7 to hole 9 (about 3 minutes), then look it over",)
    low, rest = now.stations
    assert (low.name, low.stands, low.led, low.groups[0].step) == (
        "low bar",
        "hole 7",
        "a coach spots",
        "2 Straight legs up and held at the bar",
    )
    assert [(who.number, who.then) for who in low.groups[0].people] == [(1, "rings")]
    assert (rest.name, [(who.number, who.then) for who in rest.groups[0].people]) == ("Rest", [(2, "low bar")])
    assert [station.name for station in last.stations] == ["low bar", "rings"]
    assert (end.phase, end.stations) == ("The last rotation is over", ())
    assert "Rotation 2 of 3" in words(answer)
    assert "12:25" in words(answer)
    assert "Now: Re-set low bar" in words(answer)
    at(18)  # it is set by then
    assert "Now: Re-set low bar from hole 5" not in words(wall(client_of(coach), session))


def test_in_the_warm_up_the_wall_says_where_everybody_begins(client_of, coach, session):
    first = wall(client_of(coach), session).context["walls"][0].wall
    assert (first.phase, first.until) == ("Warm-up", NOON + timedelta(minutes=5))
    assert [station.name for station in first.stations] == ["low bar", "floor"]
    assert (first.resets, first.resets_ahead) == ((), ("Set low bar to hole 5 (about 3 minutes), then look it over",))


def test_names_stand_on_the_wall_as_it_was_agreed_to(client_of, coach, session, athlete, minor):
    told = words(wall(client_of(coach), session))
    assert minor.person.full_name not in told
    make_consent(minor, by=coach, kind="board", extent="full_name")
    assert minor.person.full_name in words(wall(client_of(coach), session))


def test_who_must_not_do_a_step_any_more_is_sent_to_the_coach_and_no_word_says_why(
    client_of, coach, session, athlete, at
):
    at(6)
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=NOON, until_at=None, reason="Left elbow."
    )
    answer = wall(client_of(coach), session)
    [floor] = [station for station in answer.context["walls"][0].wall.stations if station.name == "floor"]
    assert floor.groups[0].step == "Ask the coach first"
    for word in ("hanging", "elbow", "aution"):
        assert word not in words(answer)


def test_who_came_late_is_told_so_and_who_left_is_not_shown(client_of, coach, session, minor):
    late = make_athlete(coach.gym, "Bo Chen")
    mark_present(by=coach, session=session, athlete=late)
    unmark_present(by=coach, session=session, athlete=minor)
    told = words(wall(client_of(coach), session))
    assert "Not in the plan yet: ask the coach" in told
    assert f"{late.number} Bo Chen" in told
    assert minor.person.initials not in told


def test_a_wall_without_a_plan_says_so(client_of, coach, athlete):
    library(coach.gym)
    assert "No plan yet" in words(wall(client_of(coach), start_class(coach, athlete)))


def test_after_its_end_a_class_is_nowhere_by_its_plan(client_of, coach, session, at):
    at(6)
    client = client_of(coach)
    tag = wall(client, session)["ETag"]
    end_session(by=coach, session=session)
    answer = wall(client, session, **{"If-None-Match": tag})
    assert "The class has ended" in words(answer)
    assert answer.context["walls"] == []
    board = client.get(reverse("session", args=[session.id]))
    assert board.context["strip"] is None
    assert [tile.turn for tile in board.context["tiles"]] == ["", ""]
    assert len(sheet(client, session).pages) == 1  # paper is of the plan


def test_the_wall_has_no_control_and_nothing_from_elsewhere(client_of, coach, session):
    page = wall(client_of(coach), session).content.decode()
    for control in ("<a ", "<button", "<form", "<input", "http://", "https://", " style="):
        assert control not in page


def test_the_same_wall_is_not_sent_twice_and_a_mark_makes_another_one(client_of, coach, session, at):
    client = client_of(coach)
    at(6)
    first = wall(client, session)
    again = wall(client, session, **{"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert first["Cache-Control"] == again["Cache-Control"] == "no-store"
    mark_rotation(by=coach, session=session, rotation=1)
    skipped = wall(client, session, **{"If-None-Match": first["ETag"]})
    assert skipped.status_code == 200
    at(16.1)  # and so does time alone
    assert wall(client, session, **{"If-None-Match": skipped["ETag"]}).status_code == 200


def test_the_wall_costs_as_many_queries_for_many_as_for_one(client_of, coach, session):
    client, counts = client_of(coach), []
    for many in (0, 5):
        for place in range(many):
            mark_present(by=coach, session=session, athlete=make_athlete(coach.gym, f"Cara Dahl {place}"))
        wall(client, session)  # the book is kept from now on
        with CaptureQueriesContext(connection) as seen:
            assert wall(client, session).status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1]


# ---- The desk ----------------------------------------------------------------------------------------------------


def rotate(client, session, rotation, **more):
    return client.post(reverse("class_rotation", args=[session.id]), {"rotation": rotation, **more})


def test_the_board_says_where_the_class_is_and_a_tap_goes_on(client_of, coach, session, at):
    client, board = client_of(coach), reverse("session", args=[session.id])
    answer = client.get(board)
    assert answer.context["strip"].phase == "Warm-up"
    assert "Start rotation 1 now" in words(answer)
    assert [tile.turn for tile in answer.context["tiles"]] == [
        "First: floor · then low bar, hole 7",
        "First: low bar, hole 5 · then no place",
    ]
    assert rotate(client, session, 0)["Location"] == board
    at(3)
    rotate(client, session, 1)
    answer = client.get(board)
    assert answer.context["strip"].phase == "Rotation 2 of 3"
    assert "Re-set low bar from hole 5 to hole 7 (about 3 minutes), then look it over" in words(answer)
    assert [tile.turn for tile in answer.context["tiles"]] == [
        "Now: low bar, hole 7 · then rings",
        "Now: no place · then low bar, hole 9",
    ]
    assert RotationMark.objects.filter(skipped=True).count() == 1
    rotate(client, session, 3)
    over = client.get(board)
    assert over.context["strip"].phase == "The last rotation is over"
    assert [tile.turn for tile in over.context["tiles"]] == ["", ""]


def test_a_form_that_is_sent_twice_begins_a_rotation_once(client_of, coach, session):
    client = client_of(coach)
    key = str(client.get(reverse("session", args=[session.id])).context["mark_id"])
    for _ in range(2):
        rotate(client, session, 0, id=key)
    assert RotationMark.objects.count() == 1
    assert "Another rotation was begun" in words(
        client.post(reverse("class_rotation", args=[session.id]), {"rotation": 1, "id": key}, follow=True)
    )
    assert RotationMark.objects.count() == 1


def test_a_board_that_asks_hears_only_what_is_new(client_of, coach, session, at):
    client, address = client_of(coach), reverse("class_rotation", args=[session.id])
    seen = client.get(reverse("session", args=[session.id])).context["strip"].key
    assert client.get(address, {"seen": seen}, headers=HTMX).status_code == 204
    at(5)
    told = client.get(address, {"seen": seen}, headers=HTMX)
    assert told.status_code == 200
    assert "Now: floor" in words(told)
    assert client.get(address)["Location"] == reverse("session", args=[session.id])


def test_what_no_button_says_is_no_rotation(client_of, coach, session):
    client = client_of(coach)
    for nonsense in ("", "x", "-1", "9" * 40):
        answer = client.post(reverse("class_rotation", args=[session.id]), {"rotation": nonsense}, follow=True)
        assert "Choose one of the plan’s rotations: nothing was begun." in words(answer)
    assert rotate(client, session, 1, id="nonsense").status_code == 404
    answer = client.post(reverse("class_rotation", args=[session.id]), {"rotation": 9}, follow=True)
    assert "The plan has 3 rotations: choose one of these." in words(answer)
    end_session(by=coach, session=session)
    answer = client.post(reverse("class_rotation", args=[session.id]), {"rotation": 1}, follow=True)
    assert "This session has ended" in words(answer)
    assert not RotationMark.objects.exists()


def test_who_may_only_read_sees_the_strip_without_its_taps(client_of, reader, session):
    answer = client_of(reader).get(reverse("session", args=[session.id]))
    assert "Warm-up" in words(answer)
    assert "Start rotation 1 now" not in words(answer)
    assert rotate(client_of(reader), session, 0).status_code == 403
    assert wall(client_of(reader), session).status_code == 200


def test_without_a_plan_the_board_is_as_it_was(client_of, coach, athlete):
    library(coach.gym)
    session = start_class(coach, athlete)
    answer = client_of(coach).get(reverse("session", args=[session.id]))
    assert answer.context["strip"] is None
    assert 'id="run"' not in answer.content.decode()
    assert client_of(coach).get(reverse("class_plan_pdf", args=[session.id])).status_code == 404


# ---- Paper -------------------------------------------------------------------------------------------------------


def sheet(client, session) -> pypdf.PdfReader:
    answer = client.get(reverse("class_plan_pdf", args=[session.id]))
    assert answer["Content-Type"] == "application/pdf"
    return pypdf.PdfReader(io.BytesIO(answer.content))


def read(reader: pypdf.PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_the_sheet_says_who_is_where_in_each_rotation(client_of, coach, session, minor):
    reader = sheet(client_of(coach), session)
    told = read(reader)
    assert len(reader.pages) == 1
    for part in ("Rotation 2, 12:15", "low bar, hole 7", "Set low bar to hole 5", "low bar: a coach spots", "rest"):
        assert part in told
    assert "2 Straight legs up and held at the bar" in told
    assert minor.person.full_name not in told
    assert "A coach decides" in told or "a coach decides" in told


def test_forty_people_in_five_rotations_at_eight_stations_stand_on_one_page(client_of, coach, at):
    book = library(coach.gym)
    people = [make_athlete(coach.gym, f"Maximiliane-Friederike Longishname {number}") for number in range(40)]
    session = start_class(coach, *people)
    kinds = ("high_bar", "high_bar", "low_bar", "low_bar", "rings", "floor", "floor", "box")
    hall = {
        f"{kind} {number}": WorkPlace.objects.create(
            gym=coach.gym, name=f"{kind.replace('_', ' ')} number {number} by the long window", kind=kind, capacity=5
        )
        for number, kind in enumerate(kinds)
    }
    codes = [code for code in book.steps if len(book.steps[code].name) > 30] * 9
    told: dict[Athlete, list[Told | None]] = {}
    for number, person in enumerate(people):
        turns: list[Told | None] = []
        for rotation in range(5):
            place = [*hall][(number + rotation) % 8]
            turns.append((codes[number + rotation], place, 7 + rotation if "low" in place else None))
        told[person] = turns
    keep_plan(coach, session, told, hall)
    reader = sheet(client_of(coach), session)
    assert len(reader.pages) == 1
    written = read(reader)
    for number in range(40):
        assert f"Longishname {number}" in written
    assert [round(float(side)) for side in reader.pages[0].mediabox[2:]] == [842, 595]
