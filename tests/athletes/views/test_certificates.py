from datetime import timedelta

from django.urls import reverse
from django.utils import timezone

from athletes.models import Certificate
from tests.factories.athletes import make_certificate


def _page(client, name, *args):
    return client.get(reverse(name, args=args)).content.decode()


def test_an_owner_enters_a_certificate_and_reads_how_it_stands(client_of, owner, coach):
    client = client_of(owner)
    assert "None entered." in _page(client, "certificates", coach.id)
    sent = {"kind": "first_aid", "valid_from": "2026-01-01", "valid_until": "2026-02-28"}
    assert client.post(reverse("certificates", args=[coach.id]), sent).status_code == 303
    words = "First aid: lapsed, its last day was 28 February 2026; the right to sign off ended with it."
    assert words in _page(client, "certificates", coach.id)
    assert words in _page(client, "staff")
    assert words in _page(client, "month")


def test_a_mistake_stands_beside_its_field_and_what_was_typed_is_there(client_of, owner, coach):
    sent = {"kind": "coaching", "valid_from": "2026-03-01", "valid_until": "2026-02-28"}
    response = client_of(owner).post(reverse("certificates", args=[coach.id]), sent)
    assert response.status_code == 422
    assert response.context["form"].errors == {"valid_until": ["The last day comes before the first."]}
    assert 'value="2026-03-01"' in response.content.decode()
    assert not Certificate.objects.exists()


def test_the_staff_page_says_what_stands_and_what_is_missing(client_of, owner, coach, coach_two):
    today = timezone.now().astimezone(owner.gym.zone).date()
    make_certificate(coach, by=owner, valid_until=today + timedelta(days=10))
    make_certificate(coach, by=owner, kind="safeguarding")
    page = _page(client_of(owner), "staff")
    assert ", which is soon." in page
    assert "Safeguarding check: good, without end." in page
    assert page.count("No certificates entered.") == 2
    assert ", which is soon." in _page(client_of(owner), "month")


def test_a_coach_without_the_right_to_lift_is_told_that_it_lapsed(client_of, owner, coach, athlete):
    make_certificate(coach, by=owner, valid_until=timezone.now().date() - timedelta(days=3))
    response = client_of(coach).post(reverse("caution_lift", args=[athlete.id]))
    assert response.status_code == 403
    assert "A certificate of yours has ended: coaching certificate, last day" in response.content.decode()


def test_the_staff_page_asks_a_fixed_number_of_queries(client_of, owner, coach, coach_two, django_assert_num_queries):
    client = client_of(owner)
    client.get(reverse("staff"))
    with django_assert_num_queries(7):
        client.get(reverse("staff"))
    for member in (owner, coach, coach_two):
        make_certificate(member, by=owner)
    with django_assert_num_queries(7):
        client.get(reverse("staff"))
