"""Athletes through the API."""

from datetime import date
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from athletes.models import Athlete, Gym, Membership
from tests.factories.athletes import make_athlete, make_measure
from tests.helpers.api import Api, api_of, places


@pytest.fixture
def api(coach: Membership) -> Api:
    return api_of(coach)


def test_an_adult_stands_by_name(api: Api, athlete: Athlete) -> None:
    assert api.get(f"athletes/{athlete.id}/").json() == {
        "id": str(athlete.id),
        "number": athlete.number,
        "name": "Ada Lindqvist",
        "is_minor": False,
        "joined_on": "2025-01-07",
        "left_on": None,
    }


@pytest.mark.parametrize("who", ["owner", "coach", "guardian"])
def test_a_minor_stands_by_initials_for_everybody(request: pytest.FixtureRequest, minor: Athlete, who: str) -> None:
    make_measure(minor)
    api = api_of(request.getfixturevalue(who))
    for answer in (api.get(f"athletes/{minor.id}/"), api.get("athletes/")):
        assert "M. O." in answer.content.decode()
        for secret in ("Mia", "Okafor", "mass", "68.5", "birth", "email"):
            assert secret not in answer.content.decode()


def test_athletes_come_by_number_page_by_page(api: Api, gym: Gym) -> None:
    made = [make_athlete(gym, f"Athlete {place}", number=number) for place, number in enumerate((5, 2, 9, 7, 1))]
    Athlete.objects.filter(pk=made[0].pk).update(left_on=date(2026, 1, 31))
    address, numbers = "athletes/?limit=2", []
    while address:
        answer = api.get(address).json()
        numbers.append([row["number"] for row in answer["results"]])
        address = (answer["next"] or "").removeprefix("http://testserver/api/v1/")
    assert numbers == [[1, 2], [5, 7], [9]]


def test_a_row_of_another_gym_is_no_place_to_go_on_from(api: Api, other_gym: Gym) -> None:
    other = make_athlete(other_gym, "Noor Haddad")
    assert places(api.get("athletes/", after=other.id)) == {"after": "There is no such row in this list."}


@pytest.mark.parametrize("rows", [1, 3])
def test_a_list_costs_the_same_whatever_its_length(
    api: Api, gym: Gym, django_assert_num_queries: DjangoAssertNumQueries, rows: int
) -> None:
    for place in range(rows):
        make_athlete(gym, f"Athlete {place}")
    with django_assert_num_queries(2):  # the key, the rows
        answer: Any = api.get("athletes/")
    assert len(answer.json()["results"]) == rows
