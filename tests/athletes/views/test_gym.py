import pytest
from django.urls import reverse

from athletes.forms.gym import time_zone_choices
from tests.factories.athletes import Role, make_member


def test_the_settings_are_shown_and_stored(client_of, owner):
    client, address = client_of(owner), reverse("gym")
    assert client.get(address).context["form"]["time_zone"].value() == "Europe/Berlin"
    wish = {"name": "Harbour East", "time_zone": "Europe/Lisbon", "units": "imperial"}
    response = client.post(address, wish)
    assert (response.status_code, response.url) == (303, address)
    owner.gym.refresh_from_db()
    stored = {"name": owner.gym.name, "time_zone": owner.gym.time_zone, "units": owner.gym.units}
    assert stored == wish


def test_bad_settings_come_back_with_what_was_typed(client_of, owner):
    response = client_of(owner).post(reverse("gym"), {"name": "East", "time_zone": "Mars/Olympus", "units": ""})
    assert response.status_code == 422
    form = response.context["form"]
    assert form["name"].value() == "East"
    assert form.errors["units"] == ["Units on pages is missing."]
    assert "Mars/Olympus" in form.errors["time_zone"][0]


def test_how_long_things_are_kept_is_stored_and_an_empty_field_changes_nothing(client_of, owner):
    client = client_of(owner)
    wish = {"name": "Harbour", "time_zone": "Europe/Lisbon", "units": "metric"}
    kept = {"own_data_age_years": 14, "keep_months_after_leaving": 24, "keep_pain_notes_days": 30}
    for sent in (kept, dict.fromkeys(kept, ""), {}):
        assert client.post(reverse("gym"), wish | sent).status_code == 303
        owner.gym.refresh_from_db()
        assert {name: getattr(owner.gym, name) for name in kept} == kept


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("own_data_age_years", "12"),
        ("own_data_age_years", "19"),
        ("keep_months_after_leaving", "0"),
        ("keep_months_after_leaving", "121"),
        ("keep_pain_notes_days", "6"),
        ("keep_pain_notes_days", "99999"),
        ("keep_pain_notes_days", "-1"),
        ("keep_pain_notes_days", "soon"),
    ],
)
def test_a_period_out_of_bounds_is_told_beside_its_field(client_of, owner, field, value):
    wish = {"name": "Harbour", "time_zone": "Europe/Lisbon", "units": "metric", field: value}
    response = client_of(owner).post(reverse("gym"), wish)
    assert response.status_code == 422
    assert response.context["form"].errors.keys() == {field}
    assert response.context["form"][field].value() == value


def test_a_number_that_the_gym_has_in_any_case_is_not_called_optional(client_of, owner):
    page = client_of(owner).get(reverse("gym")).content.decode()
    assert page.count("(left empty, it stays as it is)") == 3
    assert "(optional)" not in page


def test_every_time_zone_of_the_iana_database_can_be_chosen():
    chosen = {value for _, zones in time_zone_choices() for value, _ in zones}
    assert {"Europe/Berlin", "America/Argentina/Ushuaia", "Pacific/Chatham", "UTC"} <= chosen


def test_somebody_with_two_roles_chooses_one(client_of, owner):
    coaching = make_member(owner.gym, Role.COACH, "Olga Brandt", account=owner.account)
    client = client_of(owner)
    assert client.get(reverse("gym")).status_code == 200
    response = client.post(reverse("choose_membership"), {"membership": coaching.id})
    assert response.status_code == 303
    assert client.get(reverse("gym")).status_code == 403
    assert client.get(reverse("roster")).status_code == 200


def test_nobody_acts_as_somebody_else(client_of, coach, owner):
    client = client_of(coach)
    for other in (owner.id, "x", ""):
        assert client.post(reverse("choose_membership"), {"membership": other}).status_code == 404
    assert client.get(reverse("gym")).status_code == 403


def test_a_role_is_not_chosen_by_following_a_link(client_of, coach):
    assert client_of(coach).get(reverse("choose_membership"), {"membership": coach.id}).status_code == 405
