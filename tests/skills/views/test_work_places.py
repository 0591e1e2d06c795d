"""Pages of the gym's stations."""

import pytest
from django.urls import reverse

from skills.models import ServedStep, WorkPlace
from tests.factories.bars import make_low_bar
from tests.factories.class_plans import make_place
from tests.factories.skills import library, step_of
from tests.helpers.attempt_forms import text_of

SENT = {"name": "rings", "kind": "rings", "capacity": "2", "bar": "", "spot_from": ""}


def test_a_station_is_added_with_its_bar_and_told(client_of, owner, reader):
    library(owner.gym)
    bar = make_low_bar(owner.gym)
    sent = {"name": "low bar", "kind": "low_bar", "capacity": "2", "bar": str(bar.id), "spot_from": "left"}
    page = text_of(client_of(owner).post("/stations/add/", sent, follow=True))
    assert "Added: low bar." in page
    assert "Low bar, 2 people at a time. Bar: low bar by the door: holes 1 to 30" in page
    assert "Spotted from: left." in page
    seen = text_of(client_of(reader).get("/stations/"))
    assert "low bar" in seen
    assert "Add a station" not in seen


def test_only_some_steps_are_served_where_some_are_ticked(client_of, owner):
    library(owner.gym)
    steps = [str(step_of(owner.gym, "pullover-1").id)]
    sent = {**SENT, "name": "high bar", "kind": "high_bar", "steps": steps}
    page = text_of(client_of(owner).post("/stations/add/", sent, follow=True))
    assert "Only for 1 Tucked hold in a long-arm hang." in page
    place = WorkPlace.objects.get()
    form = client_of(owner).get(f"/stations/{place.id}/change/").context["form"]
    assert form["steps"].value() == steps


@pytest.mark.parametrize(
    ("changed", "fields"),
    [
        ({"name": ""}, ["name"]),
        ({"kind": "pool"}, ["kind"]),
        ({"capacity": ""}, ["capacity"]),
        ({"capacity": "two"}, ["capacity"]),
        ({"capacity": "0"}, ["capacity"]),
        ({"bar": "00000000-0000-0000-0000-000000000000"}, ["bar"]),
        ({"steps": ["x"]}, ["steps"]),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_is_lost(client_of, owner, changed, fields):
    response = client_of(owner).post("/stations/add/", {**SENT, "spot_from": "behind", **changed})
    assert response.status_code == 422
    assert list(response.context["form"].errors) == fields
    assert 'value="behind"' in response.content.decode()
    assert not WorkPlace.objects.exists()


def test_a_station_is_changed_and_taken_out_of_use(client_of, owner):
    place, client = make_place(owner.gym, "rings", "rings"), client_of(owner)
    page = text_of(client.post(f"/stations/{place.id}/change/", {**SENT, "capacity": "4"}, follow=True))
    assert "Rings, 4 people at a time" in page
    assert "out of use?" in text_of(client.get(f"/stations/{place.id}/retire/"))
    page = text_of(client.post(f"/stations/{place.id}/retire/", follow=True))
    assert "No station is described yet" in page
    assert client.get(f"/stations/{place.id}/change/").status_code == 404


def test_another_gyms_station_is_not_found(client_of, owner, other_gym):
    place = make_place(other_gym, "rings", "rings")
    for name in ("work_place_change", "work_place_retire"):
        assert client_of(owner).get(reverse(name, args=[place.id])).status_code == 404


def test_the_list_costs_as_many_queries_for_many_as_for_one(client_of, owner, django_assert_num_queries):
    library(owner.gym)
    client = client_of(owner)
    for code in ("pullover-1", "pullover-2"):
        place = make_place(owner.gym, f"bar for {code}", "high_bar")
        ServedStep.objects.create(gym=owner.gym, place=place, step=step_of(owner.gym, code))
        with django_assert_num_queries(7):
            client.get("/stations/")
