import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from athletes.models import AuditEntry
from skills.models import Attendance, BarCheck, TrainingSession
from skills.services.sessions import check_bar, end_session, start_session
from tests.factories.athletes import make_athlete, make_caution
from tests.factories.skills import days_before_now, library, log, meet, page_of, pass_step, reach, start_class, step_of

NOBODY = "00000000-0000-4000-8000-000000000000"
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


def text_of(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def board(client, session):
    return client.get(f"/sessions/{session.id}/")


def test_a_tile_tells_number_step_state_what_is_missing_last_try_and_cue(client_of, coach, athlete):
    session = start_class(coach, athlete)
    log(coach, athlete, "pullover-1", 5.2, days_ago=1)
    log(coach, athlete, "pullover-1", 4.1, faults=("shoulders-close",))
    [tile] = board(client_of(coach), session).context["tiles"]
    assert (tile.number, tile.name, tile.state) == (1, "Ada Lindqvist", "working")
    assert tile.step == "1 Tucked hold in a long-arm hang"
    assert tile.missing == "two more clean holds of 5 s, on another day"
    assert tile.last.startswith("4.1 s, Shoulders close · ")
    assert tile.cue == "Long arms, look ahead"


HOLDS_COMPARED = [
    ({"seconds": 5.2}, "about as long as the one before"),
    ({"seconds": 5.3}, "longer than the one before"),
    ({"seconds": 4.7}, "shorter than the one before"),
    ({"seconds": 9.9, "assistance": "band"}, ""),
]


@pytest.mark.parametrize(("held", "words"), HOLDS_COMPARED)
def test_a_tile_compares_two_holds_only_beyond_what_a_hand_can_tell(client_of, coach, athlete, held, words):
    session = start_class(coach, athlete)
    log(coach, athlete, "pullover-1", 5, days_ago=1)
    log(coach, athlete, "pullover-1", **held)
    [tile] = board(client_of(coach), session).context["tiles"]
    assert tile.last.endswith(words)
    assert ("the one before" in tile.last) == bool(words)


def test_a_cue_stays_over_clean_tries_and_a_voided_try_is_not_the_last(client_of, coach, athlete):
    session = start_class(coach, athlete)
    log(coach, athlete, "pullover-1", 4.1, days_ago=2, faults=("shoulders-close",))
    log(coach, athlete, "pullover-1", 5, days_ago=1)
    wrong = log(coach, athlete, "pullover-1", 9)
    client_of(coach).post(f"/attempts/{wrong.id}/void/", {"why": "figure"})
    [tile] = board(client_of(coach), session).context["tiles"]
    assert tile.last.startswith("5 s, clean")
    assert tile.cue == "Long arms, look ahead"


def test_minors_stand_by_initials_everywhere_on_the_board(client_of, coach, minor):
    response = board(client_of(coach), start_class(coach, minor))
    assert "M. O." in response.content.decode()
    assert "Okafor" not in response.content.decode()


def test_tiles_stand_by_number_whoever_came_first(client_of, coach, athlete, minor):
    session = start_class(coach, minor, athlete)
    assert [tile.number for tile in board(client_of(coach), session).context["tiles"]] == [1, 2]


def test_only_cautions_that_matter_for_the_step_in_hand_stand_on_the_tile(client_of, coach, athlete, minor):
    make_caution(athlete, coach, loads=["hanging"])
    make_caution(minor, coach, loads=["landing"])
    tiles = board(client_of(coach), start_class(coach, athlete, minor)).context["tiles"]
    assert [tile.cautions for tile in tiles] == [("no hanging",), ()]
    assert [tile.state for tile in tiles] == ["paused", "working"]
    assert "paused" not in tiles[0].missing


def test_the_focus_is_in_hand_where_it_is_open(client_of, coach, athlete, minor):
    pass_step(coach, athlete, "pullover-1")
    session = start_class(coach, athlete, minor, focus="pullover-3")
    steps = [tile.step for tile in board(client_of(coach), session).context["tiles"]]
    assert [step.split()[0] for step in steps] == ["3", "1"]


def test_the_board_asks_the_same_number_of_queries_for_one_athlete_and_for_three(client_of, coach, gym, athlete, minor):
    third = make_athlete(gym, "Jun Watanabe")
    for person in (athlete, minor, third):
        log(coach, person, "pullover-1", 5, days_ago=1)
        make_caution(person, coach, loads=["hanging"])
    one, three = start_class(coach, athlete), start_class(coach, athlete, minor, third)
    client = client_of(coach)
    board(client, one)
    with CaptureQueriesContext(connection) as for_one:
        board(client, one)
    with CaptureQueriesContext(connection) as for_three:
        assert len(board(client, three).context["tiles"]) == 3
    assert len(for_one) == len(for_three)


@pytest.mark.parametrize("path", ["", "present/", "end/", "athletes/{athlete}/"])
def test_another_gyms_session_is_not_there(client_of, coach, other_coach, athlete, path):
    session = start_class(coach, athlete)
    address = f"/sessions/{session.id}/" + path.format(athlete=athlete.id)
    assert client_of(other_coach).get(address).status_code == 404


def test_marking_who_is_here_leads_back_to_the_board(client_of, coach, athlete):
    session = start_class(coach)
    response = client_of(coach).post(f"/sessions/{session.id}/present/", {"here": str(athlete.id)})
    assert (response.status_code, response["Location"]) == (303, f"/sessions/{session.id}/#panel")
    assert [row.athlete for row in session.attendances.all()] == [athlete]
    client_of(coach).post(f"/sessions/{session.id}/present/", {"gone": str(athlete.id)})
    assert not session.attendances.exists()


def test_htmx_gets_the_rows_and_the_tiles(client_of, coach, athlete):
    session = start_class(coach)
    address = f"/sessions/{session.id}/present/"
    html = client_of(coach).post(address, {"here": str(athlete.id)}, headers=HTMX).content.decode()
    assert '<form id="rows"' in html
    assert '<ol id="tiles" class="tiles" hx-swap-oob="true">' in html
    assert f'id="tile-{athlete.id}"' in html
    assert "<html" not in html


def test_last_times_people_come_first_and_all_of_them_are_one_tap(client_of, coach, athlete, minor, gym):
    third = make_athlete(gym, "Jun Watanabe")
    before = start_class(coach, minor, third, name="Monday class")
    TrainingSession.objects.filter(pk=before.pk).update(starts_at="2026-01-05T17:00Z")
    session = start_class(coach, name="Monday class")
    client = client_of(coach)
    rows = board(client, session).context["rows"]
    assert [row["athlete"].number for row in rows] == [minor.number, third.number, athlete.number]
    client.post(f"/sessions/{session.id}/present/", {"usual": "1"})
    assert {row.athlete for row in session.attendances.all()} == {minor, third}


def test_the_roster_is_searched_by_number_or_name_and_minors_by_initials_alone(client_of, coach, athlete, minor):
    session = start_class(coach)
    client = client_of(coach)

    def found(words):
        rows = client.get(f"/sessions/{session.id}/present/", {"q": words}).context["rows"]
        return [row["athlete"].id for row in rows]

    assert found("lind") == [athlete.id]
    assert found(str(minor.number)) == [minor.id]
    assert found("okafor") == []


def test_marking_another_gyms_athlete_is_not_found(client_of, coach, other_gym):
    session, guest = start_class(coach), make_athlete(other_gym, "Gus Guest")
    response = client_of(coach).post(f"/sessions/{session.id}/present/", {"here": str(guest.id)})
    assert response.status_code == 404
    assert not Attendance.objects.exists()


def test_an_ended_session_takes_nobody_and_says_so(client_of, coach, athlete):
    session = start_class(coach)
    end_session(by=coach, session=session)
    address = f"/sessions/{session.id}/present/"
    html = client_of(coach).post(address, {"here": str(athlete.id)}, headers=HTMX).content.decode()
    assert "This session has ended; start a new one." in html
    assert not Attendance.objects.exists()


def test_ending_names_those_without_an_entry_and_ends_once(client_of, coach, athlete, minor):
    session = start_class(coach, athlete, minor)
    log(coach, athlete, "pullover-1", 5, session=session)
    client = client_of(coach)
    shown = client.get(f"/sessions/{session.id}/end/").context["nothing_logged"]
    assert [athlete.id for athlete in shown] == [minor.id]
    assert client.post(f"/sessions/{session.id}/end/")["Location"] == "/today/"
    session.refresh_from_db()
    ended_at = session.ended_at
    client.post(f"/sessions/{session.id}/end/")
    session.refresh_from_db()
    assert session.ended_at == ended_at is not None


def test_who_may_not_log_sees_the_board_and_changes_nothing(client_of, coach, athlete):
    session = start_class(coach, athlete)
    coach.may_log = False
    coach.save()
    client = client_of(coach)
    assert "You may not log in this gym" in text_of(board(client, session))
    assert client.post(f"/sessions/{session.id}/present/", {"gone": str(athlete.id)}).status_code == 403
    assert client.post(f"/sessions/{session.id}/end/").status_code == 403
    panel = client.get(f"/sessions/{session.id}/athletes/{athlete.id}/")
    assert panel.status_code == 200
    assert "form" not in panel.context


# ---- The log panel of one athlete ------------------------------------------------------------------------------


def panel(client, session, athlete, **query):
    return client.get(f"/sessions/{session.id}/athletes/{athlete.id}/", query)


def test_the_panel_is_a_page_and_for_htmx_a_part_with_the_tile(client_of, coach, athlete):
    session = start_class(coach, athlete)
    address = f"/sessions/{session.id}/athletes/{athlete.id}/"
    page = client_of(coach).get(address).content.decode()
    part = client_of(coach).get(address, headers=HTMX).content.decode()
    assert "<html" in page
    assert "<html" not in part
    assert part.lstrip().startswith('<section id="panel"')
    assert f'id="tile-{athlete.id}"' in part
    assert f'id="tile-{athlete.id}"' not in page


def test_every_rendering_has_a_new_id_for_the_attempt(client_of, coach, athlete):
    session = start_class(coach, athlete)
    ids = {panel(client_of(coach), session, athlete).context["form"]["id"].value() for _ in range(3)}
    assert len(ids) == 3


def test_help_and_form_of_the_last_try_are_preselected(client_of, coach, athlete):
    session = start_class(coach, athlete)
    log(coach, athlete, "pullover-1", 5, assistance="band", variant="knees-at-hips")
    form = panel(client_of(coach), session, athlete).context["form"]
    assert (form["assistance"].value(), form["variant"].value()) == ("band", "knees-at-hips")


def test_cautions_and_getting_down_stand_first_where_a_body_turns_over(client_of, coach, athlete, minor, gym):
    reach(coach, athlete, "pullover-3a")
    session = start_class(coach, athlete, minor, focus="pullover-3a")
    step = step_of(gym, "pullover-3a")
    html = panel(client_of(coach), session, athlete).content.decode()
    assert html.index("Getting down.") < html.index('id="attempt"')
    assert step.cautions[0] in html
    assert "Getting down." not in panel(client_of(coach), session, minor).content.decode()


def test_cautions_are_spread_out_until_the_first_try_of_the_class(client_of, coach, athlete):
    reach(coach, athlete, "pullover-3a")
    session = start_class(coach, athlete, focus="pullover-3a")
    client = client_of(coach)
    assert '<details class="caution-box" open>' in panel(client, session, athlete).content.decode()
    log(coach, athlete, "pullover-3a", 5, session=session)
    assert '<details class="caution-box">' in panel(client, session, athlete).content.decode()


def test_a_low_bar_is_checked_by_name_before_anything_is_logged(client_of, coach, athlete):
    reach(coach, athlete, "pullover-6")
    session = start_class(coach, athlete, focus="pullover-6")
    client = client_of(coach)
    first = panel(client, session, athlete)
    assert "form" not in first.context
    ticks = ["tied", "unloaded", "anchored", "clear", "mat"]
    address = f"/sessions/{session.id}/bar-check/"
    bad = client.post(address, {"athlete": str(athlete.id), "bar": "door bar", "looked_over": ticks[:4]})
    assert bad.status_code == 422
    assert "The mat lies where the athlete comes down." in str(bad.context["bar_form"].errors["looked_over"])
    assert bad.context["bar_form"]["bar"].value() == "door bar"
    assert not BarCheck.objects.filter(session=session).exists()
    good = client.post(address, {"athlete": str(athlete.id), "bar": "door bar", "looked_over": ticks})
    assert good["Location"] == f"/sessions/{session.id}/athletes/{athlete.id}/"
    assert BarCheck.objects.get(session=session).bar == "door bar"
    assert "Bar checked today: door bar" in text_of(panel(client, session, athlete))


def test_a_paused_step_takes_no_entry_and_says_why(client_of, coach, athlete):
    make_caution(athlete, coach, loads=["hanging"])
    response = panel(client_of(coach), start_class(coach, athlete), athlete)
    assert "form" not in response.context
    assert "nothing can be logged at this step before the caution is lifted" in text_of(response)


def test_another_open_step_is_kept_for_the_class(client_of, coach, athlete, gym):
    session, step = start_class(coach, athlete), step_of(gym, "toes-1")
    address = f"/sessions/{session.id}/athletes/{athlete.id}/step/"
    assert client_of(coach).post(address, {"step": str(step.id)}).status_code == 303
    assert panel(client_of(coach), session, athlete).context["panel"].page.code == "toes-1"
    assert board(client_of(coach), session).context["tiles"][0].step.startswith(step.label)


def test_a_closed_step_cannot_be_put_into_a_hand(client_of, coach, athlete, gym):
    session, step = start_class(coach, athlete), step_of(gym, "pullover-8")
    address = f"/sessions/{session.id}/athletes/{athlete.id}/step/"
    response = client_of(coach).post(address, {"step": str(step.id)})
    assert response.status_code == 422
    assert "This step is not open to the athlete yet." in text_of(response)
    assert Attendance.objects.get().step is None


def test_a_closed_step_may_be_asked_for_by_who_may_sign_off(client_of, coach, coach_two, athlete, gym):
    session, step = start_class(coach, athlete), page_of(gym, "pullover-3")
    response = panel(client_of(coach), session, athlete, step=str(step.id))
    assert response.context["panel"].closed
    assert "Why this step is tried before it is open" in text_of(response)
    assert panel(client_of(coach), session, athlete).context["closed_groups"]
    assert not panel(client_of(coach_two), session, athlete).context["closed_groups"]


def test_dangerous_faults_say_so(client_of, coach, athlete):
    reach(coach, athlete, "pullover-7")
    session = start_class(coach, athlete, focus="pullover-7")
    assert "Dangerous: Lets go" in text_of(panel(client_of(coach), session, athlete))


@pytest.mark.parametrize("query", [{"step": "x"}, {"step": NOBODY}, {"logged": NOBODY}])
def test_an_id_that_is_none_of_this_gyms_is_not_found(client_of, coach, athlete, query):
    assert panel(client_of(coach), start_class(coach, athlete), athlete, **query).status_code == 404


def test_all_open_steps_passed_leaves_a_choice(client_of, coach, athlete):
    meet(coach, athlete, "pullover-1")
    session = start_class(coach, athlete, focus="pullover-1")
    assert panel(client_of(coach), session, athlete).context["panel"].standing.now.base == "passed"


def test_what_a_class_and_a_bar_are_called_stays_out_of_the_audit_chain(gym, coach):
    session = start_session(by=coach, name="Private hour with Nadia")
    check_bar(by=coach, session=session, bar="Nadia's bar")
    entries = AuditEntry.objects.filter(act__in=("session_started", "bar_checked"))
    assert entries.count() == 2
    assert not [entry for entry in entries if "Nadia" in entry.content]


# ---- Help and form of last time, and coming back after weeks ------------------------------------------------------


def test_the_help_of_the_last_judged_try_is_remembered_and_shown(client_of, coach, athlete):
    session = start_class(coach, athlete)
    log(coach, athlete, "pullover-1", 5, assistance="band", days_ago=2)
    log(coach, athlete, "pullover-1", 9, source="timed_only", days_ago=1)
    response = panel(client_of(coach), session, athlete)
    assert response.context["form"]["assistance"].value() == "band"
    assert "With: band" in text_of(response)
    assert "9 s, clean · " in board(client_of(coach), session).context["tiles"][0].last
    log(coach, athlete, "pullover-1", 5, assistance="band")
    assert "5 s, clean, band · " in board(client_of(coach), session).context["tiles"][0].last


def away_since(coach, athlete, days):
    """Past two steps, and last seen that many days ago."""
    meet(coach, athlete, "pullover-1", days_ago=days + 2)
    log(coach, athlete, "pullover-2", 3.0, days_ago=days)


@pytest.mark.parametrize("proposal", [(24, "1", "back after 24 days: begin with 1 "), (20, "2", "")])
def test_after_three_weeks_away_the_step_before_is_proposed(client_of, coach, athlete, proposal):
    days, step, words = proposal
    away_since(coach, athlete, days)
    session = start_class(coach, athlete)
    (tile,) = board(client_of(coach), session).context["tiles"]
    assert tile.step.split()[0] == step
    assert tile.back.startswith(words)
    assert bool(tile.back) == bool(words)
    assert panel(client_of(coach), session, athlete).context["panel"].page.label == step


def test_who_comes_back_stays_at_the_step_before_until_the_coach_chooses_the_other(client_of, coach, athlete, gym):
    away_since(coach, athlete, 24)
    session, client = start_class(coach, athlete), client_of(coach)
    log(coach, athlete, "pullover-1", 5, session=session)
    response = panel(client, session, athlete)
    assert "Go on with 2 Straight legs up and held at the bar instead" in text_of(response)
    assert response.context["panel"].page.code == "pullover-1"
    client.post(f"/sessions/{session.id}/athletes/{athlete.id}/step/", {"step": str(step_of(gym, "pullover-2").id)})
    (tile,) = board(client, session).context["tiles"]
    assert (tile.step.split()[0], tile.back) == ("2", "")


def test_who_is_new_or_was_in_a_class_meanwhile_comes_back_from_nowhere(client_of, coach, athlete, minor):
    away_since(coach, athlete, 24)
    between = start_class(coach, athlete, name="Open gym")
    TrainingSession.objects.filter(pk=between.pk).update(starts_at=days_before_now(3))
    tiles = board(client_of(coach), start_class(coach, athlete, minor)).context["tiles"]
    assert [tile.back for tile in tiles] == ["", ""]


def test_who_comes_back_to_a_first_step_begins_there(client_of, coach, athlete):
    log(coach, athlete, "pullover-1", 3.0, days_ago=24)
    (tile,) = board(client_of(coach), start_class(coach, athlete)).context["tiles"]
    assert (tile.step.split()[0], tile.back) == ("1", "back after 24 days")
