import uuid

import pytest
from django.urls import reverse

from athletes.models import Remark
from athletes.services.remarks import commitment
from skills.models import Attempt, AttemptVoid
from skills.services.attempts import void_attempt
from tests.factories.skills import library, log, measure_angle, reach, start_class
from tests.helpers.attempt_forms import text_of
from tests.helpers.html import elements

WORDS = "legs from straight down"


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)
    measure_angle(gym, "pullover-1", WORDS)


@pytest.fixture
def session(coach, athlete):
    return start_class(coach, athlete)


@pytest.fixture
def attempt(coach, athlete, session):
    return log(coach, athlete, "pullover-1", 5.2, session=session, faults=("swings-in",), note="left knee first")


@pytest.fixture
def client(client_of, coach):
    return client_of(coach)


def store(client, attempt, angle, **more):
    entry = {"id": str(uuid.uuid4()), "angle": angle, **more}
    return client.post(reverse("attempt_angle", args=[attempt.id]), entry)


def reason_of(void):
    notes = Remark.objects.filter(about=void.attempt_id)
    return next(note.text for note in notes if commitment(note.salt, note.text) == void.remark_commitment)


def test_the_angle_is_stored_and_nothing_else_changes(client, attempt):
    response = store(client, attempt, "85", read_on="still", next="/today/")
    assert (response.status_code, response["Location"]) == (303, "/today/")
    standing = Attempt.objects.get(void=None)
    assert standing.angle_degrees == 85
    same = ("athlete_id", "step_id", "session_id", "happened_at", "hold_tenths", "reps", "faults", "source", "effort")
    assert [getattr(standing, name) for name in same] == [getattr(attempt, name) for name in same]
    assert reason_of(AttemptVoid.objects.get(attempt=attempt)) == "Angle read on a still: entered again with it."


def test_a_number_that_was_typed_is_not_called_read_on_a_still(client, attempt):
    store(client, attempt, "85")
    assert reason_of(AttemptVoid.objects.get(attempt=attempt)) == "Mended: entered again as it was seen."


def test_the_mend_on_the_class_page_says_what_its_angle_was_read_on(client, session, attempt):
    for angle, read_on, reason in (
        ("80", "still", "Angle read on a still: entered again with it."),
        ("", "still", "Mended: entered again as it was seen."),
    ):
        entry = {"id": str(uuid.uuid4()), "session": str(session.id), "angle": angle, "read_on": read_on}
        standing = Attempt.objects.get(void=None)
        client.post(f"/attempts/{standing.id}/mend/", entry | ({} if angle else {"missed": "thumb-around"}))
        assert reason_of(AttemptVoid.objects.get(attempt=standing)) == reason
    assert Attempt.objects.get(void=None).angle_degrees == 80


def test_a_form_that_is_sent_twice_is_one_correction(client, attempt):
    entry = {"id": str(uuid.uuid4()), "angle": "85"}
    for _ in range(2):
        assert client.post(reverse("attempt_angle", args=[attempt.id]), entry).status_code == 303
    assert Attempt.objects.count() == 2


@pytest.mark.parametrize("angle", ["", "181", "-1", "85.5", "about 90"])
def test_what_is_no_angle_comes_back_as_typed_with_a_sentence(client, attempt, angle):
    response = store(client, attempt, angle)
    assert response.status_code == 422
    assert "An angle is a whole number of degrees from 0 to 180." in text_of(response)
    assert f'value="{angle}"' in response.content.decode() or angle == ""
    assert Attempt.objects.count() == 1


def test_the_angle_that_stands_already_is_not_entered_again(client, attempt):
    store(client, attempt, "85")
    standing = Attempt.objects.get(void=None)
    assert store(client, standing, "85").status_code == 303
    assert Attempt.objects.get(void=None) == standing


def test_an_attempt_that_was_taken_back_takes_no_angle(client, coach, attempt):
    void_attempt(by=coach, attempt=attempt, reason="Wrong athlete")
    page = client.get(reverse("attempt_angle", args=[attempt.id]))
    assert "This attempt was taken back" in text_of(page)
    assert 'name="angle"' not in page.content.decode()
    response = store(client, attempt, "85")
    assert response.status_code == 422
    assert "This attempt was taken back before." in text_of(response)
    assert not Attempt.objects.filter(angle_degrees=85).exists()


def test_a_step_without_an_angle_says_so(client, coach, athlete):
    reach(coach, athlete, "pullover-2")
    attempt = log(coach, athlete, "pullover-2", 5.2)
    page = client.get(reverse("attempt_angle", args=[attempt.id]))
    assert "No angle is measured at this step." in text_of(page)
    response = store(client, attempt, "85")
    assert response.status_code == 422
    assert "No angle is measured at this step: leave the degrees out." in text_of(response)


def test_who_may_not_log_reads_no_angle(client_of, reader, attempt):
    assert client_of(reader).get(reverse("attempt_angle", args=[attempt.id])).status_code == 403
    assert store(client_of(reader), attempt, "85").status_code == 403


def test_no_form_of_these_pages_has_room_for_a_picture(client, session, athlete, attempt):
    for page in (
        reverse("attempt_angle", args=[attempt.id]),
        reverse("session", args=[session.id]),
        reverse("session_athlete", args=[session.id, athlete.id]),
    ):
        html = client.get(page).content.decode()
        files = [field for field in elements(html, "input") if field.attrs.get("type") == "file"]
        assert len(files) == 2, page
        assert not [field for field in files if "name" in field.attrs or "form" in field.attrs]
        assert not [parent for field in files for parent in field.parents if parent.tag == "form"]
        assert "multipart" not in html


def test_the_page_is_kept_nowhere_and_knows_its_step(client, attempt):
    response = client.get(reverse("attempt_angle", args=[attempt.id]))
    assert "no-store" in response["Cache-Control"]
    kinds = [
        field.attrs for field in elements(response.content.decode(), "input") if field.attrs.get("type") == "radio"
    ]
    assert [kind["value"] for kind in kinds if "checked" in kind] == ["legs"]
    assert f"Angle in degrees: {WORDS}" in text_of(response)


def test_the_athletes_page_leads_there_for_tries_that_can_have_an_angle(client, coach, athlete, attempt):
    reach(coach, athlete, "pullover-2")
    other = log(coach, athlete, "pullover-2", 5.2)
    html = client.get(reverse("athlete", args=[athlete.id])).content.decode()
    assert reverse("attempt_angle", args=[attempt.id]) in html
    assert reverse("attempt_angle", args=[other.id]) not in html


def test_the_class_page_offers_it_beside_the_field_of_a_new_try_and_of_the_stored_one(
    client, session, athlete, attempt
):
    html = client.get(reverse("session_athlete", args=[session.id, athlete.id])).content.decode()
    keys = [key.attrs for key in elements(html, "button") if "data-still-open" in key.attrs]
    assert {(key["data-field"], key["data-kind"]) for key in keys} == {("log_angle", "legs"), ("mend-angle", "legs")}
    assert all("hidden" in key for key in keys)
