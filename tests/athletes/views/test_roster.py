from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, BodyMeasure
from athletes.services.measures import last_values
from tests.factories.athletes import make_athlete, make_caution, make_login, make_measure

NEW = {"full_name": "Bo Berg", "birth_on": "1999-04-02", "stature": "1.81 m", "mass": "77.5", "email": "", "notes": ""}


def names(response) -> list[str]:
    return [row.name for row in response.context["rows"]]


def test_a_minor_stands_on_the_list_by_initials(client_of, coach, athlete, minor):
    response = client_of(coach).get(reverse("roster"))
    assert names(response) == ["Ada Lindqvist", "M. O."]
    page = response.content.decode()
    assert "Mia" not in page
    assert "Okafor" not in page


def test_who_has_no_birth_date_counts_as_a_minor(client_of, coach, gym):
    make_athlete(gym, "Íñigo Ochoa", birth_on=None)
    response = client_of(coach).get(reverse("roster"))
    assert names(response) == ["Í. O."]
    assert "birth date not known" in response.content.decode()


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", ["Ada Lindqvist", "M. O.", "Zoë Ängström"]),
        ("ada", ["Ada Lindqvist"]),
        ("LIND", ["Ada Lindqvist"]),
        ("2", ["M. O."]),
        ("okafor", ["M. O."]),
        ("m. o.", ["M. O."]),
        ("ängst", ["Zoë Ängström"]),
        ("ÄNGST", ["Zoë Ängström"]),
        ("nobody", []),
        ("²", []),
    ],
)
@pytest.mark.usefixtures("athlete", "minor")
def test_the_list_is_searched_by_number_or_part_of_a_name(client_of, coach, words, found):
    make_athlete(coach.gym, "Zoë Ängström", number=7)
    assert names(client_of(coach).get(reverse("roster"), {"q": words})) == found


def test_htmx_gets_the_list_alone(client_of, coach, athlete):
    page = client_of(coach).get(reverse("roster"), headers={"HX-Request": "true"}).content.decode().strip()
    assert page.startswith('<div id="people"')
    assert "<html" not in page


def test_what_was_searched_for_is_no_markup(client_of, coach):
    page = client_of(coach).get(reverse("roster"), {"q": "<b>x"}).content.decode()
    assert "<b>x" not in page
    assert "&lt;b&gt;x" in page


def test_who_left_is_listed_only_if_asked_for(client_of, coach, athlete):
    Athlete.objects.filter(pk=athlete.pk).update(left_on=timezone.localdate() - timedelta(days=1))
    assert names(client_of(coach).get(reverse("roster"))) == []
    assert names(client_of(coach).get(reverse("roster"), {"left": "on"})) == ["Ada Lindqvist"]


def test_another_gyms_athletes_are_not_listed(client_of, other_coach, athlete):
    assert names(client_of(other_coach).get(reverse("roster"), {"q": "ada", "left": "on"})) == []


def test_a_caution_in_force_is_said(client_of, coach, athlete, minor):
    make_caution(athlete, coach, loads=("landing", "inversion"))
    page = client_of(coach).get(reverse("roster")).content.decode()
    assert page.count("Caution:") == 1
    assert "no inversion, no landing" in page


def test_the_list_takes_as_many_queries_for_three_as_for_one(client_of, coach, django_assert_num_queries):
    client = client_of(coach)
    for people in (["Ada Lind"], ["Bo Berg", "Cy Chen"]):
        for name in people:
            athlete = make_athlete(coach.gym, name)
            make_login(athlete)
            make_caution(athlete, coach)
        with django_assert_num_queries(6):  # session, account, memberships; athletes, log-ins, cautions
            client.get(reverse("roster"))


def test_an_athlete_is_added(client_of, coach):
    response = client_of(coach).post(reverse("athlete_add"), NEW)
    bo = Athlete.objects.get()
    assert (response.status_code, response.url) == (303, reverse("athlete_change", args=[bo.id]))
    assert (bo.person.full_name, bo.person.birth_on) == ("Bo Berg", date(1999, 4, 2))
    assert last_values(bo) == (Decimal("1.810"), Decimal("77.50"))


def test_an_imperial_gym_writes_feet_and_pounds(client_of, coach):
    coach.gym.units = "imperial"
    coach.gym.save(update_fields=["units"])
    client = client_of(coach)
    client.post(reverse("athlete_add"), {**NEW, "stature": "5 ft 11 in", "mass": "170"})
    bo = Athlete.objects.get()
    assert last_values(bo) == (Decimal("1.803"), Decimal("77.10"))
    form = client.get(reverse("athlete_change", args=[bo.id])).context["form"]
    assert (form["stature"].value(), form["mass"].value()) == ("5 ft 11 in", "170 lb")


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_storing_the_form_as_it_is_shown_adds_no_rounded_measure(client_of, coach, athlete, units):
    coach.gym.units = units
    coach.gym.save(update_fields=["units"])
    make_measure(athlete, stature_m="1.726", mass_kg="68.56")
    client, address = client_of(coach), reverse("athlete_change", args=[athlete.id])
    form = client.get(address).context["form"]
    shown = {name: form[name].value() or "" for name in form.fields}
    assert shown["stature"] in {"1.73 m", "5 ft 8 in"}
    assert client.post(address, shown).status_code == 303
    assert BodyMeasure.objects.count() == 1
    assert not AuditEntry.objects.exists()
    client.post(address, {**shown, "mass": "70"})
    assert BodyMeasure.objects.count() == 2
    assert last_values(athlete)[0] == Decimal("1.726")


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("full_name", " ", "Name is missing."),
        ("birth_on", "02.04.1999", "This is no date; write it like 2011-05-30."),
        ("birth_on", "2999-01-01", "The birth date 2999-01-01 is in the future."),
        ("stature", "181", "A stature is between 0.80 m and 2.50 m."),
        ("stature", "tall", "Write a length like 1.68 m, 168 cm or 5 ft 6 in."),
        ("mass", "7", "A mass is between 15.0 kg and 250.0 kg."),
        ("mass", "light", "Write a mass like 61.5 kg or 135 lb."),
        ("email", "bo@", "“bo@” is no e-mail address; write it like ada@gym.example."),
        ("notes", "a\x07b", "The notes have characters in them that cannot be seen (control characters)."),
    ],
)
def test_a_mistake_is_told_beside_the_field_and_nothing_typed_is_lost(client_of, coach, field, typed, sentence):
    response = client_of(coach).post(reverse("athlete_add"), {**NEW, "notes": "left-handed", field: typed})
    form = response.context["form"]
    assert response.status_code == 422
    assert dict(form.errors) == {field: [sentence]}
    assert sentence in response.content.decode().replace("&#x27;", "'")
    assert {name: form[name].value() for name in NEW} == {**NEW, "notes": "left-handed", field: typed}
    assert not Athlete.objects.exists()


def test_somebody_who_is_on_the_roster_is_not_added_again(client_of, coach, athlete):
    wish = {**NEW, "full_name": "ada lindqvist", "birth_on": athlete.person.birth_on.isoformat()}
    response = client_of(coach).post(reverse("athlete_add"), wish)
    assert response.status_code == 422
    assert response.context["form"].errors["full_name"] == ["Somebody of this name and birth date is number 1 already."]


def test_the_form_shows_a_minors_full_name_and_never_the_mass(client_of, coach, minor):
    make_measure(minor, mass_kg="47.30")
    response = client_of(coach).get(reverse("athlete_change", args=[minor.id]))
    page = response.content.decode()
    assert "Mia Okafor" in page
    assert "mass" not in response.context["form"].fields
    assert "47.3" not in page


def test_changing_a_minor_keeps_the_mass(client_of, coach, minor):
    make_measure(minor, mass_kg="47.30")
    address = reverse("athlete_change", args=[minor.id])
    birth_on = minor.person.birth_on.isoformat()
    client_of(coach).post(address, {"full_name": "Mia Okafor", "birth_on": birth_on, "stature": "1.75"})
    assert last_values(minor) == (Decimal("1.750"), Decimal("47.30"))
