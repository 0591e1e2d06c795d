from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import BodyMeasure
from tests.factories.athletes import make_measure


def _address(athlete):
    return reverse("measures", args=[athlete.id])


def _sent(**changed):
    empty = dict.fromkeys(("stature", "chest", "armpit", "reach", "mass"), "")
    return {"measured_on": "2026-01-12", **empty, **changed}


def test_measures_are_noted_and_listed(client_of, coach, athlete):
    sent = _sent(stature="172 cm", chest="1,24 m", armpit="1.31", reach="6 ft 10 in", mass="150 lb")
    response = client_of(coach).post(_address(athlete), sent, follow=True)
    assert "12 Jan 2026: stature 1.72 m, mass 68.0 kg, chest 1.24 m, armpit 1.31 m, reach 2.08 m" in " ".join(
        response.content.decode().split()
    )


def test_a_gym_in_imperial_units_is_spoken_to_in_feet(client_of, coach, athlete):
    coach.gym.units = "imperial"
    coach.gym.save()
    client_of(coach).post(_address(athlete), _sent(stature="5 ft 8 in"))
    page = client_of(coach).get(_address(athlete)).content.decode()
    assert "Like 4 ft 2 in." in page
    assert "stature 5 ft 8 in" in page


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({}, "__all__"),
        ({"measured_on": "2999-01-01", "stature": "1.72"}, "measured_on"),
        ({"measured_on": "soon", "stature": "1.72"}, "measured_on"),
        ({"stature": "17.2 m"}, "stature"),
        ({"stature": "1.72", "chest": "0.5 m"}, "chest"),
        ({"stature": "1.72", "armpit": "high"}, "armpit"),
        ({"reach": "9 m"}, "reach"),
        ({"mass": "3 kg"}, "mass"),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_is_lost(client_of, coach, athlete, changed, field):
    response = client_of(coach).post(_address(athlete), _sent(**changed))
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    for value in changed.values():
        assert f'value="{value}"' in response.content.decode()
    assert not BodyMeasure.objects.exists()


def test_a_minors_mass_is_neither_asked_for_nor_shown(client_of, coach, minor):
    make_measure(minor, stature_m="1.520", mass_kg="41.25")
    page = client_of(coach).get(_address(minor)).content.decode()
    assert 'name="mass"' not in page
    assert "stature 1.52 m" in page
    assert " kg" not in page
    assert "41.2" not in page


@pytest.mark.parametrize(("days", "asked"), [(10, False), (100, True)])
def test_the_stature_of_who_grows_is_asked_for_again(client_of, coach, minor, days, asked):
    measure = make_measure(minor)
    BodyMeasure.objects.filter(pk=measure.pk).update(measured_on=timezone.localdate() - timedelta(days=days))
    page = client_of(coach).get(_address(minor)).content.decode()
    assert ("more than three months old: measure again" in page) is asked


def test_who_may_not_log_sees_none(client_of, reader, athlete_member, athlete):
    assert client_of(reader).get(_address(athlete)).status_code == 403
    assert client_of(athlete_member).get(_address(athlete)).status_code == 403


def test_another_gym_finds_nothing(client_of, other_coach, athlete):
    assert client_of(other_coach).get(_address(athlete)).status_code == 404
