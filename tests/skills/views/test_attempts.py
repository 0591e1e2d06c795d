import pytest

from athletes.models import AuditEntry, Caution
from skills.models import Attempt, AttemptVoid
from skills.queries.logs import stored_attempt
from skills.services.sessions import end_session
from skills.views import attempts as views
from tests.factories.athletes import make_athlete, make_caution
from tests.factories.skills import library, log, measure_angle, meet, reach, start_class, step_of
from tests.helpers.attempt_forms import filled, send, text_of

HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


@pytest.fixture
def session(coach, athlete):
    return start_class(coach, athlete)


@pytest.fixture
def client(client_of, coach):
    return client_of(coach)


def test_a_clean_hold_is_stored_and_the_panel_says_so(client, session, coach, athlete):
    response = send(client, session, filled(athlete))
    attempt = Attempt.objects.get()
    assert (attempt.hold_tenths, attempt.reps, attempt.source, attempt.session) == (52, 1, "judged", session)
    assert (attempt.logged_by, attempt.is_clean) == (coach, True)
    assert response.status_code == 303
    page = client.get(response["Location"])
    assert page.context["logged"] == attempt
    assert "Stored: 5.2 s, clean" in text_of(page)
    assert "two more clean holds of 5 s, on another day" in text_of(page)


def test_htmx_gets_the_panel_with_the_answer_and_the_tile_as_it_is_now(client, session, athlete):
    html = send(client, session, filled(athlete), headers=HTMX).content.decode()
    assert html.lstrip().startswith('<section id="panel"')
    assert "<strong>Stored:</strong> 5.2 s, clean" in html
    assert f'<li id="tile-{athlete.id}" class="tile" data-athlete="{athlete.id}" hx-swap-oob="true">' in html
    assert "5.2 s, clean · " in html


def test_one_tap_on_a_fault_stores_it_and_shows_its_cue(client, session, athlete):
    response = send(client, session, filled(athlete, verdict=None, fault="shoulders-close"), headers=HTMX)
    assert Attempt.objects.get().faults == ["shoulders-close"]
    assert "“Long arms, look ahead”" in text_of(response)


def test_several_faults_checkpoints_effort_pain_and_note_are_stored_as_ticked(client, session, athlete):
    entry = filled(
        athlete,
        verdict="marked",
        faults=["shoulders-close", "swings-in"],
        missed=["thumb-around"],
        effort="7",
        pain="on",
        note="Left hand",
        assistance="band",
        variant="knees-at-hips",
        source="timed_only",
        reps="3",
    )
    response = send(client, session, entry, follow=True)
    row = Attempt.objects.get()
    assert (row.faults, row.missed, row.effort, row.pain) == (
        ["shoulders-close", "swings-in"],
        ["thumb-around"],
        7,
        True,
    )
    assert (row.assistance, row.variant, row.source, row.reps) == ("band", "knees-at-hips", "timed_only", 3)
    assert Caution.objects.get().loads == ["hanging"]
    assert "paused until a coach lifts the caution" in text_of(response)
    assert "form" not in response.context


@pytest.mark.parametrize(
    ("typed", "tenths"), [("19.99", 199), ("5", 50), ("7,35", 73), (" 4.0 ", 40), ("5.2 s", 52), ("0.1", 1)]
)
def test_seconds_are_cut_to_tenths_however_they_are_typed(client, session, athlete, typed, tenths):
    send(client, session, filled(athlete, seconds=typed))
    assert Attempt.objects.get().hold_tenths == tenths


@pytest.mark.parametrize(
    "bad",
    [
        ("seconds", "", "Take the time, tap a key, or type the seconds."),
        ("seconds", "five", "not a length in seconds"),
        ("seconds", "-3", "negative"),
        ("seconds", "5400", "longer than an hour"),
        ("seconds", "0.04", "A hold lasts from 0.1 seconds to one hour."),
        ("reps", "0", "greater than or equal to 1"),
        ("reps", "-2", "greater than or equal to 1"),
        ("reps", "501", "less than or equal to 500"),
        ("assistance", "rocket", "rocket is not one of the available choices"),
        ("effort", "11", "11 is not one of the available choices"),
        ("faults", ["no-such-fault"], "no-such-fault is not one of the available choices"),
    ],
)
def test_bad_input_is_told_beside_the_field_and_everything_typed_stays(client, session, athlete, bad):
    field, typed, sentence = bad
    entry = filled(athlete, **({"note": "kept", "effort": "6"} | {field: typed}))
    response = send(client, session, entry)
    form = response.context["form"]
    assert response.status_code == 422
    assert sentence in str(form.errors[field])
    assert form["note"].value() == "kept"
    assert form["id"].value() == entry["id"]
    assert not Attempt.objects.exists()


def test_clean_with_a_fault_ticked_is_asked_back(client, session, athlete):
    response = send(client, session, filled(athlete, faults=["swings-in"]))
    assert response.status_code == 422
    assert "untick it" in str(response.context["form"].errors["faults"])


def test_a_form_without_a_verdict_is_asked_for_one(client, session, athlete):
    response = send(client, session, filled(athlete, verdict=None))
    assert "Tap “Clean” or the fault that you saw." in text_of(response)
    assert not Attempt.objects.exists()


def test_a_fault_of_another_step_is_refused_in_words(client, session, athlete):
    response = send(client, session, filled(athlete, verdict=None, fault="belly-lets-go"))
    assert response.status_code == 422
    assert "This step has no fault" in text_of(response)


def test_a_form_that_is_sent_twice_is_one_attempt(client, session, athlete):
    entry = filled(athlete)
    first, second = send(client, session, entry), send(client, session, entry)
    assert first["Location"] == second["Location"]
    assert Attempt.objects.count() == 1
    assert AuditEntry.objects.filter(act="attempt_logged").count() == 1


def test_a_second_sending_that_overtakes_the_first_is_one_attempt_too(client, session, athlete, monkeypatch):
    entry = filled(athlete)
    send(client, session, entry)
    looks = []

    def blind_once(gym, attempt_id):
        looks.append(attempt_id)
        return None if len(looks) == 1 else stored_attempt(gym, attempt_id)

    monkeypatch.setattr(views, "stored_attempt", blind_once)
    assert send(client, session, entry).status_code == 303
    assert Attempt.objects.count() == 1


def test_an_id_with_other_content_is_refused_in_words_and_gets_a_new_id(client, session, athlete):
    entry = filled(athlete)
    send(client, session, entry)
    response = send(client, session, entry | {"seconds": "9"})
    assert response.status_code == 422
    assert "This id was used before for an attempt with other content" in text_of(response)
    assert response.context["form"]["id"].value() != entry["id"]
    assert [row.hold_tenths for row in Attempt.objects.all()] == [52]


def test_the_third_clean_hold_on_a_second_day_says_what_it_passed_and_opened(client, session, coach, athlete):
    log(coach, athlete, "pullover-1", 5, reps=2, days_ago=1)
    response = send(client, session, filled(athlete), follow=True)
    assert response.context["news"] == [
        "Passed: 1 Tucked hold in a long-arm hang",
        "Opens: 2 Straight legs up and held at the bar",
        "Opens: 3 Strict pull-up begun by the tuck",
        "Opens: 2 Slow knee raise from a hang",
    ]
    assert response.context["waiting"] == []


def test_an_attempt_that_hurt_tells_no_paused_step_as_passed_or_opened(client, session, coach, athlete):
    meet(coach, athlete, "pullover-1", days_ago=3)
    response = send(client, session, filled(athlete, "pullover-2", verdict="marked", pain="on"), follow=True)
    assert "paused until a coach lifts the caution" in text_of(response)
    assert response.context["panel"].standing.now.state == "paused"
    assert response.context["news"] == []
    assert response.context["waiting"] == []


def test_a_met_criterion_that_needs_a_coach_leads_to_the_sign_off(client, coach, athlete):
    reach(coach, athlete, "pullover-3a")
    session = start_class(coach, athlete, focus="pullover-3a")
    log(coach, athlete, "pullover-3a", 5, reps=2, days_ago=1)
    step = step_of(athlete.gym, "pullover-3a")
    response = send(client, session, filled(athlete, "pullover-3a"), follow=True)
    html = response.content.decode()
    assert response.context["panel"].standing.now.base == "ready"
    assert f"/sign-offs/{athlete.id}/{step.id}/finish/?next=" in html
    assert "Ready for sign-off" in html


def test_reps_have_to_be_said_where_reps_are_counted(client, session, athlete):
    entry = filled(athlete, "toes-1", seconds=None, reps="")
    response = send(client, session, entry)
    assert "Tap or type how many reps there were." in str(response.context["form"].errors["reps"])
    send(client, session, entry | {"reps": "8", "broken": "on"})
    row = Attempt.objects.get()
    assert (row.hold_tenths, row.reps, row.unbroken) == (None, 8, False)


def test_the_grade_is_stored_where_the_step_has_grades(client, coach, athlete):
    meet(coach, athlete, "pullover-1")
    session = start_class(coach, athlete, focus="pullover-3")
    send(client, session, filled(athlete, "pullover-3", seconds=None, reps="2", grade="3"))
    assert Attempt.objects.get(step__code="pullover-3").grade == 3


def test_the_angle_is_asked_and_stored_only_where_the_step_says_which_one(client, session, gym, athlete):
    assert "Angle in degrees" not in text_of(client.get(f"/sessions/{session.id}/athletes/{athlete.id}/"))
    measure_angle(gym, "pullover-1")
    panel = client.get(f"/sessions/{session.id}/athletes/{athlete.id}/")
    assert "Angle in degrees: legs from straight down (optional)" in text_of(panel)
    response = send(client, session, filled(athlete, angle="85"), follow=True)
    assert Attempt.objects.get().angle_degrees == 85
    assert "Stored: 5.2 s at 85°, clean" in text_of(response)


def test_an_angle_past_a_straight_line_is_refused_beside_its_field_and_stays_typed(client, session, gym, athlete):
    measure_angle(gym, "pullover-1")
    response = send(client, session, filled(athlete, angle="181"))
    form = response.context["form"]
    assert form.errors == {"angle": ["An angle is a whole number of degrees from 0 to 180."]}
    assert form["angle"].value() == "181"
    assert not Attempt.objects.exists()


def test_a_low_bar_step_without_todays_check_is_refused_in_words(client, coach, athlete):
    reach(coach, athlete, "pullover-6")
    session = start_class(coach, athlete, focus="pullover-6")
    response = send(client, session, filled(athlete, "pullover-6", seconds=None))
    assert response.status_code == 422
    assert "Check the low bar first" in text_of(response)


def test_a_caution_refuses_the_attempt_in_words(client, session, coach, athlete):
    make_caution(athlete, coach, loads=["hanging"])
    response = send(client, session, filled(athlete))
    assert response.status_code == 422
    assert "A caution forbids this step for now" in text_of(response)


def test_a_closed_step_needs_a_reason_and_is_told_never_to_count(client, session, athlete):
    entry = filled(athlete, "pullover-2")
    refused = send(client, session, entry)
    assert "give a reason" in str(refused.context["form"].errors["closed_reason"])
    response = send(client, session, entry | {"closed_reason": "asked to show it"}, follow=True)
    assert Attempt.objects.get().closed_try
    assert "never counted" in text_of(response)


def test_a_closed_step_is_refused_to_who_may_not_sign_off(client_of, session, coach_two, athlete):
    response = send(client_of(coach_two), session, filled(athlete, "pullover-2", closed_reason="why not"))
    assert response.status_code == 422
    assert "Only a coach who may sign off" in text_of(response)


def test_an_ended_session_takes_no_attempt(client, session, coach, athlete):
    end_session(by=coach, session=session)
    response = send(client, session, filled(athlete))
    assert response.status_code == 422
    assert not Attempt.objects.exists()


def test_other_gyms_and_who_may_not_log_are_kept_out(client_of, session, coach, other_coach, athlete):
    assert send(client_of(other_coach), session, filled(athlete)).status_code == 404
    guest = make_athlete(other_coach.gym, "Gus Guest")
    assert send(client_of(coach), session, filled(athlete) | {"athlete": str(guest.id)}).status_code == 404
    coach.may_log = False
    coach.save()
    assert send(client_of(coach), session, filled(athlete)).status_code == 403
    assert not Attempt.objects.exists()


@pytest.mark.parametrize("field", ["athlete", "step"])
@pytest.mark.parametrize("value", ["", "x", "00000000-0000-4000-8000-000000000000"])
def test_an_athlete_or_step_that_is_not_there_is_not_found(client, session, athlete, field, value):
    assert send(client, session, filled(athlete) | {field: value}).status_code == 404


# ---- Taking back -----------------------------------------------------------------------------------------------


def undo(client, attempt, **entry):
    return client.post(f"/attempts/{attempt.id}/void/", entry)


def test_undo_voids_with_the_reason_of_one_tap_and_goes_back(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5, session=session)
    back = f"/sessions/{session.id}/athletes/{athlete.id}/"
    response = undo(client, attempt, why="athlete", next=back)
    assert (response.status_code, response["Location"]) == (303, back)
    assert AttemptVoid.objects.get().attempt == attempt
    page = client.get(f"/athletes/{athlete.id}/")
    assert page.context["attempts"][0].taken_back == "Wrong athlete"


def test_undo_on_the_board_brings_the_panel_and_the_tile(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5, session=session)
    address = f"/attempts/{attempt.id}/void/"
    html = client.post(address, {"why": "figure", "session": str(session.id)}, headers=HTMX).content.decode()
    assert html.lstrip().startswith('<section id="panel"')
    assert "no try yet" in html
    assert "Taken back. It stays in the history with the reason." in html


def test_another_reason_needs_words(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5)
    response = undo(client, attempt, why="other", words=" ")
    assert response.status_code == 422
    assert "Say in a few words why it is taken back." in text_of(response)
    assert not AttemptVoid.objects.exists()
    undo(client, attempt, why="other", words="Wrong day")
    assert client.get(f"/athletes/{athlete.id}/").context["attempts"][0].taken_back == "Wrong day"


def test_a_second_undo_changes_nothing_and_says_so(client, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5)
    undo(client, attempt, why="figure")
    response = client.post(f"/attempts/{attempt.id}/void/", {"why": "athlete"}, follow=True)
    assert "This attempt was taken back before." in text_of(response)
    assert AttemptVoid.objects.count() == 1


@pytest.mark.parametrize(
    "elsewhere", ["https://evil.example/", "//evil.example/", "javascript:alert(1)", "/\\evil.example"]
)
def test_undo_leads_to_no_other_site(client, coach, athlete, elsewhere):
    attempt = log(coach, athlete, "pullover-1", 5)
    assert undo(client, attempt, why="figure", next=elsewhere)["Location"] == f"/athletes/{athlete.id}/"


def test_another_gyms_attempt_is_not_found(client_of, coach, other_coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5)
    assert undo(client_of(other_coach), attempt, why="figure").status_code == 404
    assert not AttemptVoid.objects.exists()
