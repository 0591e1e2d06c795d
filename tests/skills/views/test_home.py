"""The front door: each role comes to its own page."""

import pytest
from django.test import Client
from django.urls import reverse


@pytest.mark.django_db
def test_without_a_gym_it_leads_to_the_founding_page():
    response = Client().get("/")
    assert response.status_code == 303
    assert response["Location"] == reverse("set_up")


def test_with_a_gym_it_leads_to_signing_in(gym):
    assert Client().get("/")["Location"] == reverse("account_login")


@pytest.mark.parametrize(
    ("role", "page"),
    [("owner", "month"), ("coach", "today"), ("athlete_member", "my_progress"), ("guardian", "my_progress")],
)
def test_each_role_is_led_to_the_page_that_it_came_for(request, client_of, role, page):
    response = client_of(request.getfixturevalue(role)).get("/")
    assert response["Location"] == reverse(page)
    assert response["Cache-Control"] == "no-store"


def test_somebody_who_belongs_nowhere_is_refused(gym, client_of, stranger):
    assert client_of(stranger).get("/").status_code == 403
