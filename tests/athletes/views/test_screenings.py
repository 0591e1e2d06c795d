import pytest
from django.urls import reverse


def _address(athlete):
    return reverse("screenings", args=[athlete.id])


def test_a_screening_is_noted_by_who_may_log_and_read_by_all_staff(client_of, coach, reader, guardian, minor):
    sent = {"done_on": "2026-01-05", "expires_on": "2026-02-05"}
    assert "No readiness screening is noted" in client_of(reader).get(_address(minor)).content.decode()
    assert client_of(reader).post(_address(minor), sent).status_code == 403
    assert client_of(guardian).get(_address(minor)).status_code == 403
    assert client_of(coach).post(_address(minor), sent).status_code == 303
    page = client_of(reader).get(_address(minor)).content.decode()
    assert "expired on 5 Feb 2026" in page
    assert "no questions and no answers" in page


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"done_on": ""}, "done_on"),
        ({"done_on": "2999-01-01"}, "done_on"),
        ({"expires_on": "2025-01-01"}, "expires_on"),
    ],
)
def test_a_mistake_stands_beside_its_field(client_of, coach, minor, changed, field):
    response = client_of(coach).post(_address(minor), {"done_on": "2026-01-05", "expires_on": "", **changed})
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]


def test_another_gym_finds_nothing(client_of, other_coach, minor):
    assert client_of(other_coach).get(_address(minor)).status_code == 404
