"""A method that an address does not take is refused, and where a person meets that, in words."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import Membership
from tests.helpers.html import words_of

pytestmark = pytest.mark.django_db


def test_who_opens_the_address_of_a_button_reads_what_to_do(
    client_of: Callable[[Membership], Client], owner: Membership
) -> None:
    answer = client_of(owner).get(reverse("choose_membership"))
    assert (answer.status_code, answer.headers["Allow"]) == (405, "POST")
    assert "Go back, and press the button there." in words_of(answer)
    assert answer.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "BREW"])
@pytest.mark.parametrize("place", ["/", "/account/sign-in/", "/athletes/", "/floor/", "/kept/"])
def test_pages_take_no_other_method(client: Client, method: str, place: str) -> None:
    answer = client.generic(method, place)
    assert (answer.status_code, answer.headers["Allow"], answer.content) == (405, "GET, HEAD, POST", b"")


@pytest.mark.parametrize("method", ["OPTIONS", "TRACE", "BREW"])
def test_the_api_neither_describes_itself_nor_echoes(client: Client, method: str) -> None:
    answer = client.generic(method, "/api/v1/athletes/", "an echo", headers={"Cookie": "a=echo"})
    assert answer.status_code == 401
    assert b"echo" not in answer.content


def test_an_address_that_is_not_there_is_not_there_by_any_method(client: Client) -> None:
    assert {client.generic(method, "/no/such/page/").status_code for method in ("GET", "PUT", "BREW")} == {404}
