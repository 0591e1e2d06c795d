import re
from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete
from skills.models import TrainingSession
from skills.services.sessions import end_session
from tests.factories.athletes import make_caution
from tests.factories.skills import library, log, meet, reach, start_class, step_of


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


def test_today_offers_a_name_and_asks_to_be_kept_in_no_cache(client_of, coach):
    response = client_of(coach).get("/today/")
    assert response.status_code == 200
    assert response["Cache-Control"] == "no-store"
    assert response.context["form"]["name"].value().endswith(" class")


def test_today_shows_running_and_ended_sessions_with_their_counts(client_of, coach, athlete, minor):
    ended = start_class(coach, athlete, name="Early class")
    log(coach, athlete, "pullover-1", 5, session=ended)
    end_session(by=coach, session=ended)
    start_class(coach, athlete, minor, name="Late class")
    context = client_of(coach).get("/today/").context
    assert [(row.name, row.present, row.logged) for row in context["running"]] == [("Late class", 2, 0)]
    assert [(row.name, row.present, row.logged) for row in context["ended"]] == [("Early class", 1, 1)]


def test_today_tells_what_waits_what_is_due_and_who_is_under_a_caution(client_of, coach, athlete, minor):
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    meet(coach, minor, "pullover-1", days_ago=40)
    make_caution(minor, coach, loads=["inversion"])
    text = client_of(coach).get("/today/").content.decode()
    assert "1 to sign off" in text
    assert "Check again" in text
    due = r"1 Tucked hold in a long-arm hang, due since \d+ \w{3} \d{4}</li>"  # a day, as no clock decides it
    assert re.search(due, text)
    assert "no inversion until it is lifted" in text
    assert "Okafor" not in text


def test_another_gyms_coach_sees_nothing_of_it(client_of, coach, other_coach, athlete):
    start_class(coach, athlete, name="Secret class")
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    text = client_of(other_coach).get("/today/").content.decode()
    assert "Secret class" not in text
    assert "Nothing to sign off" in text


def test_starting_a_session_leads_to_its_board(client_of, coach, gym):
    focus = step_of(gym, "pullover-1")
    response = client_of(coach).post("/sessions/start/", {"name": " Monday 18:00 class ", "focus": str(focus.id)})
    session = TrainingSession.objects.get()
    assert (session.name, session.focus, session.coach) == ("Monday 18:00 class", focus, coach)
    assert (response.status_code, response["Location"]) == (303, f"/sessions/{session.id}/")
    assert abs(timezone.now() - session.starts_at).total_seconds() < 60


def test_a_session_without_a_name_is_refused_beside_the_field_and_the_focus_stays(client_of, coach, gym):
    focus = step_of(gym, "pullover-1")
    response = client_of(coach).post("/sessions/start/", {"name": "", "focus": str(focus.id)})
    assert response.status_code == 422
    assert response.context["form"]["focus"].value() == str(focus.id)
    assert response.context["form"].errors.keys() == {"name"}
    assert not TrainingSession.objects.exists()


def test_who_may_not_log_gets_no_form_and_cannot_start(client_of, gym, coach):
    coach.may_log = False
    coach.save()
    assert b'action="/sessions/start/"' not in client_of(coach).get("/today/").content
    assert client_of(coach).post("/sessions/start/", {"name": "Class"}).status_code == 403


@pytest.mark.parametrize("who", ["athlete_member", "guardian"])
def test_athletes_and_guardians_are_kept_out(client_of, request, who):
    assert client_of(request.getfixturevalue(who)).get("/today/").status_code == 403


def test_who_leaves_next_week_still_waits_and_is_still_under_a_caution_today(client_of, coach, athlete, minor):
    today = timezone.localdate()
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    make_caution(minor, coach, loads=["inversion"])
    for who in (athlete, minor):
        who.left_on = today + timedelta(days=7)
        who.save(update_fields=["left_on"])
    context = client_of(coach).get("/today/").context
    assert [item.athlete for item in context["waiting"]] == [athlete]
    assert [who for who, _ in context["cautioned"]] == [minor]
    Athlete.objects.update(left_on=today - timedelta(days=1))
    context = client_of(coach).get("/today/").context
    assert (context["waiting"], context["cautioned"]) == ([], [])


def test_today_leads_to_the_floor_board_who_may_log_there(client_of, coach):
    assert 'href="/floor/"' in client_of(coach).get("/today/").content.decode()
    coach.may_log = False
    coach.save(update_fields=["may_log"])
    assert 'href="/floor/"' not in client_of(coach).get("/today/").content.decode()
