from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from athletes.models import Caution, CautionLift
from skills.core.days import moment_us
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines
from tests.factories.athletes import make_caution
from tests.factories.skills import days_before_now, library


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


def state_of(gym, athlete, code):
    kept = kept_timelines(book_of(gym), [athlete.id])[athlete.id]
    return kept[code].at(moment_us(days_before_now(0))).state


def add(client, athlete, **entry):
    return client.post(f"/athletes/{athlete.id}/cautions/add/", entry)


def test_a_caution_pauses_its_steps_at_once_and_keeps_its_reason(client_of, coach, gym, athlete):
    client = client_of(coach)
    response = add(client, athlete, loads=["hanging", "inversion"], reason="Torn palm")
    caution = Caution.objects.get()
    assert (response.status_code, response["Location"]) == (303, f"/athletes/{athlete.id}/")
    assert (caution.loads, caution.until_at, caution.entered_by) == (["hanging", "inversion"], None, coach)
    assert state_of(gym, athlete, "pullover-1") == "paused"
    assert state_of(gym, athlete, "pullover-5a") == "working"
    [told] = client.get(f"/athletes/{athlete.id}/").context["cautions"]
    assert (told.loads, told.until, told.reason) == ("no hanging, inversion", "until it is lifted", "Torn palm")


def test_an_end_is_the_end_of_that_day_in_the_gyms_zone(client_of, coach, athlete):
    until = days_before_now(-30).date()
    add(client_of(coach), athlete, loads=["landing"], until=until.isoformat())
    midnight = datetime.combine(until + timedelta(days=1), datetime.min.time(), ZoneInfo("Europe/Berlin"))
    assert Caution.objects.get().until_at == midnight


@pytest.mark.parametrize(
    "bad",
    [
        ({}, "loads", "Say what the athlete may not do."),
        ({"loads": ["flying"]}, "loads", "flying is not one of the available choices"),
        ({"loads": ["hanging"], "until": "soon"}, "until", "Enter a valid date"),
        ({"loads": ["hanging"], "until": "2020-01-01"}, "until", "The caution would end before it begins."),
    ],
)
def test_what_cannot_be_entered_is_told_beside_the_field_and_stays_typed(client_of, coach, athlete, bad):
    entry, field, sentence = bad
    response = add(client_of(coach), athlete, reason="Torn palm", **entry)
    assert response.status_code == 422
    assert sentence in str(response.context["form"].errors[field])
    assert response.context["form"]["reason"].value() == "Torn palm"
    assert not Caution.objects.exists()


def test_until_today_holds_for_the_rest_of_today(client_of, coach, athlete):
    today: date = days_before_now(0).date()
    assert add(client_of(coach), athlete, loads=["hanging"], until=today.isoformat()).status_code == 303


def test_lifting_lets_the_steps_go_on_once(client_of, coach, gym, athlete):
    client = client_of(coach)
    add(client, athlete, loads=["hanging"])
    lift = f"/cautions/{Caution.objects.get().id}/lift/"
    assert client.post(lift)["Location"] == f"/athletes/{athlete.id}/"
    assert state_of(gym, athlete, "pullover-1") == "working"
    again = client.post(lift, follow=True)
    assert "This caution was lifted already." in again.content.decode()
    assert CautionLift.objects.count() == 1


def test_lifting_asks_for_the_right_to_sign_off(client_of, coach, coach_two, athlete):
    caution = make_caution(athlete, coach)
    assert client_of(coach_two).post(f"/cautions/{caution.id}/lift/").status_code == 403
    assert add(client_of(coach_two), athlete, loads=["hanging"]).status_code == 303


def test_another_gyms_athlete_and_caution_are_not_found(client_of, coach, other_coach, athlete):
    caution = make_caution(athlete, coach)
    client = client_of(other_coach)
    assert add(client, athlete, loads=["hanging"]).status_code == 404
    assert client.post(f"/cautions/{caution.id}/lift/").status_code == 404
    assert not CautionLift.objects.exists()
