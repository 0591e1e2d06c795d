import uuid

import pytest

from skills.models import Attempt, AttemptVoid
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, log, measure_angle, reach, start_class
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


def correct(client, session, attempt, act, said, **more):
    entry = {"id": str(uuid.uuid4()), "session": str(session.id), **said}
    return client.post(f"/attempts/{attempt.id}/{act}/", entry, **more)


def test_only_the_answer_that_stored_an_attempt_carries_its_receipt(client, session, athlete):
    entry = filled(athlete)
    assert "Receipt" not in send(client, session, entry | {"seconds": "x"}, headers=HTMX).headers
    assert send(client, session, entry, headers=HTMX)["Receipt"] == entry["id"]


def test_an_id_that_was_stored_otherwise_shows_what_it_stands_for(client, session, athlete):
    entry = filled(athlete)
    send(client, session, entry)
    response = send(client, session, {**entry, "verdict": "", "fault": "swings-in"})
    assert response.context["logged"].id == uuid.UUID(entry["id"])
    assert response["Receipt"] == entry["id"]


def test_a_fault_after_the_hold_was_stored_is_shown_as_one_attempt_with_its_cue(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    response = correct(client, session, attempt, "mend", {"fault": "shoulders-close"}, follow=True)
    standing = Attempt.objects.get(void=None)
    assert standing.faults == ["shoulders-close"]
    assert response.context["logged"] == standing
    assert "“Long arms, look ahead”" in text_of(response)
    assert "5.2 s, Shoulders close" in text_of(response)


def test_a_missed_checkpoint_is_added_to_a_fault_and_clean_takes_both_back(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session, faults=("shoulders-close",))
    html = correct(client, session, attempt, "mend", {"missed": "thumb-around"}, headers=HTMX).content.decode()
    both = Attempt.objects.get(void=None)
    assert (both.faults, both.missed) == (["shoulders-close"], ["thumb-around"])
    assert 'value="thumb-around" hx-post' not in html
    correct(client, session, both, "mend", {"was_clean": "on"})
    assert Attempt.objects.get(void=None).is_clean


def test_the_angle_is_set_after_the_stop(client, session, coach, gym, athlete):
    measure_angle(gym, "pullover-1")
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    correct(client, session, attempt, "mend", {"angle": "85"})
    assert Attempt.objects.get(void=None).angle_degrees == 85
    response = correct(client, session, Attempt.objects.get(void=None), "mend", {"angle": "999"})
    assert response.status_code == 422
    assert "less than or equal to 180" in text_of(response)


def test_what_was_taken_back_meanwhile_is_said_and_left(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    correct(client, session, attempt, "mend", {"fault": "swings-in"})
    for act, said in (
        ("mend", {"fault": "shoulders-close"}),
        ("move", {"athlete": str(make_athlete(athlete.gym, "Jun Watanabe").id)}),
    ):
        response = correct(client, session, attempt, act, said)
        assert response.status_code == 422
        assert "This attempt was taken back before." in text_of(response)
    assert Attempt.objects.get(void=None).faults == ["swings-in"]


def test_the_last_try_of_the_class_can_be_corrected_when_the_panel_opens_again(client, session, coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    response = client.get(f"/sessions/{session.id}/athletes/{athlete.id}/")
    assert "Last here: 5.2 s, clean" in text_of(response)
    assert f"/attempts/{attempt.id}/mend/" in response.content.decode()


def test_a_mis_tapped_athlete_is_put_right_and_both_tiles_come_along(client, coach, athlete, minor):
    session = start_class(coach, athlete, minor)
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    page = client.get(f"/sessions/{session.id}/athletes/{athlete.id}/")
    assert f'name="athlete" value="{minor.id}"' in page.content.decode()
    response = correct(client, session, attempt, "move", {"athlete": str(minor.id)}, headers=HTMX)
    html = response.content.decode()
    assert Attempt.objects.get(void=None).athlete == minor
    assert response["Receipt"] == str(Attempt.objects.get(void=None).id)
    assert html.lstrip().startswith('<section id="panel"')
    assert f'data-athlete="{minor.id}"' in html
    assert all(f'<li id="tile-{who.id}"' in html for who in (athlete, minor))
    assert f"Taken back from {athlete.number} Ada Lindqvist and entered for {minor.number}" in text_of(response)


def test_where_the_step_is_closed_to_the_other_it_goes_to_their_step_in_hand(client, coach, athlete, minor):
    reach(coach, athlete, "pullover-2")
    session = start_class(coach, athlete, minor)
    attempt = log(coach, athlete, "pullover-2", 5.2, session=session)
    response = correct(client, session, attempt, "move", {"athlete": str(minor.id)}, follow=True)
    moved = Attempt.objects.get(athlete=minor)
    assert (moved.step.code, moved.closed_try) == ("pullover-1", False)
    assert "at the step in hand: 1 Tucked hold in a long-arm hang" in text_of(response)


def test_where_no_step_fits_it_asks_why_a_closed_one_was_tried(client, coach, athlete, minor):
    reach(coach, athlete, "pullover-2")
    session = start_class(coach, athlete, minor)
    attempt = log(coach, athlete, "pullover-2", 5.2, session=session, faults=("knees-give",))
    asked = correct(client, session, attempt, "move", {"athlete": str(minor.id)})
    assert asked.status_code == 422
    assert "Nothing was changed yet." in text_of(asked)
    assert not AttemptVoid.objects.exists()
    said = {
        "athlete": str(minor.id),
        "closed_reason": "Shown elsewhere",
        "id": str(asked.context["form"]["id"].value()),
    }
    correct(client, session, attempt, "move", said)
    moved = Attempt.objects.get(athlete=minor)
    assert (moved.step.code, moved.closed_try, moved.faults) == ("pullover-2", True, ["knees-give"])


def test_another_gyms_people_and_tries_are_not_found(client_of, session, coach, other_coach, athlete):
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    guest = make_athlete(other_coach.gym, "Gus Guest")
    assert correct(client_of(coach), session, attempt, "move", {"athlete": str(guest.id)}).status_code == 404
    assert correct(client_of(other_coach), session, attempt, "mend", {"fault": "swings-in"}).status_code == 404
    assert not AttemptVoid.objects.exists()


def test_a_hold_under_two_seconds_is_said_to_be_none(client, session, athlete):
    assert "Under 2 s: kept, and no hold." in text_of(
        send(client, session, filled(athlete, seconds="1.9"), follow=True)
    )
    assert "no hold" not in text_of(send(client, session, filled(athlete, seconds="2.0"), follow=True))


@pytest.mark.parametrize("act", ["mend", "move"])
def test_a_correction_away_from_a_board_changes_nothing(client, session, coach, athlete, act):
    attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
    response = client.post(f"/attempts/{attempt.id}/{act}/", {"fault": "swings-in"}, follow=True)
    assert "Attempts are corrected on the board of a class. Nothing was changed." in text_of(response)
    assert not AttemptVoid.objects.exists()
