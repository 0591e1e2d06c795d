"""Ending a guardian's link and a log-in from the athlete's page."""

import pytest
from django.urls import reverse

from athletes.models import AuditEntry, Guardianship
from tests.factories.athletes import make_guardian, make_login


def told(response) -> list[str]:
    return [str(message) for message in response.context["messages"]]


@pytest.fixture
def guardian_end(minor, guardian):
    return reverse("guardian_end", args=[minor.id, guardian.wards.get().id])


def test_a_guardian_stops_seeing_the_ward_at_once(client_of, coach, guardian, minor, guardian_end):
    visitor, progress = client_of(guardian), reverse("progress_of", args=[minor.id])
    assert visitor.get(progress).status_code == 200
    page = client_of(coach).get(reverse("athlete_change", args=[minor.id])).content.decode()
    assert f'action="{guardian_end}"' in page
    assert 'End<span class="unseen"> what <bdi>Greta Okafor</bdi> sees</span>' in page
    response = client_of(coach).post(guardian_end)
    assert (response.status_code, response.url) == (303, reverse("athlete_change", args=[minor.id]))
    assert visitor.get(progress).status_code == 403


def test_the_message_names_the_minor_by_initials(client_of, coach, minor, guardian_end):
    response = client_of(coach).post(guardian_end, follow=True)
    assert told(response) == ["Greta Okafor does not see the progress of M. O. any more."]
    page = response.content.decode()
    assert "No guardian sees their progress." in page
    assert guardian_end not in page


def test_ending_twice_is_ending_once(client_of, coach, minor, guardian_end):
    make_login(minor)
    for address in (guardian_end, reverse("login_end", args=[minor.id])) * 2:
        assert client_of(coach).post(address).status_code == 303
    assert [entry.act for entry in AuditEntry.objects.order_by("position")] == ["guardianship_ended", "login_ended"]


def test_a_link_is_found_under_its_own_athlete_alone(client_of, coach, athlete, guardian):
    address = reverse("guardian_end", args=[athlete.id, guardian.wards.get().id])
    assert client_of(coach).post(address).status_code == 404
    assert Guardianship.objects.get().ended_at is None


def test_nothing_ends_by_looking(client_of, coach, athlete, athlete_member, guardian_end):
    for address in (guardian_end, reverse("login_end", args=[athlete.id])):
        assert client_of(coach).get(address).status_code == 405
    athlete_member.refresh_from_db()
    assert athlete_member.ended_at is None
    assert Guardianship.objects.get().ended_at is None


def test_an_athletes_log_in_ends_at_once(client_of, coach, athlete, athlete_member):
    visitor, address = client_of(athlete_member), reverse("login_end", args=[athlete.id])
    assert visitor.get(reverse("my_progress")).status_code == 200
    page = client_of(coach).get(reverse("athlete_change", args=[athlete.id])).content.decode()
    assert f'action="{address}"' in page
    assert 'End<span class="unseen"> the log-in of <bdi>Ada Lindqvist</bdi></span>' in page
    response = client_of(coach).post(address, follow=True)
    assert told(response) == ["Ada Lindqvist has no log-in any more."]
    assert "Does not sign in." in response.content.decode()
    assert visitor.get(reverse("my_progress")).status_code == 403


def test_a_minors_log_in_is_told_of_by_initials(client_of, coach, minor):
    make_login(minor)
    ended = client_of(coach).post(reverse("login_end", args=[minor.id]), follow=True)
    assert told(ended) == ["M. O. has no log-in any more."]


def test_a_minor_who_is_added_is_told_of_by_initials(client_of, coach):
    response = client_of(coach).post(reverse("athlete_add"), {"full_name": "Lou Falk", "birth_on": ""}, follow=True)
    assert told(response) == ["L. F. is number 1."]


def test_who_is_of_age_has_no_guardian_looking(client_of, coach, athlete):
    make_guardian(athlete, "Alma Lindqvist")
    page = client_of(coach).get(reverse("athlete_change", args=[athlete.id])).content.decode()
    assert "Guardians see nothing more of who is of age." in page
    assert "Alma Lindqvist" in page
