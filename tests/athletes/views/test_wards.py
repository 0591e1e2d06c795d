from django.urls import reverse

from athletes.models import PrivateLink
from athletes.services.private_links import make_link
from tests.factories.athletes import make_athlete, make_consent, make_guardian, years_before_today


def test_a_guardian_sees_each_ward_with_what_is_to_be_answered(client_of, guardian, minor):
    client = client_of(guardian)
    page = client.get("/wards/").content.decode()
    assert "To be answered: hands-on spotting, going upside down" in page
    assert "Nobody is named yet whom to call" in page
    for kind in ("spotting", "inversion", "reports", "link", "login", "board"):
        make_consent(minor, by=guardian, kind=kind)
    assert "You have answered everything" in client.get("/wards/").content.decode()


def test_queries_do_not_grow_with_the_wards(client_of, guardian, gym, django_assert_max_num_queries):
    client = client_of(guardian)
    client.get("/wards/")
    with django_assert_max_num_queries(6):
        assert len(client.get("/wards/").context["wards"]) == 1
    for name in ("Tim Okafor", "Una Okafor"):
        ward = make_athlete(gym, name, birth_on=years_before_today(9))
        guardian.wards.create(gym=gym, athlete=ward)
    with django_assert_max_num_queries(6):
        assert len(client.get("/wards/").context["wards"]) == 3


def test_of_who_is_sixteen_only_what_concerns_the_body_is_asked(client_of, gym):
    older = make_athlete(gym, "Tim Okafor", birth_on=years_before_today(16))
    page = client_of(make_guardian(older, "Sam Okafor")).get("/wards/").content.decode()
    assert "To be answered: hands-on spotting, going upside down." in page


def test_a_ward_who_comes_of_age_is_gone(client_of, guardian, minor):
    minor.person.birth_on = years_before_today(18)
    minor.person.save()
    assert "Nobody who practises here now is linked" in client_of(guardian).get("/wards/").content.decode()


def test_withdrawing_the_consent_to_a_link_takes_the_links_back(client_of, guardian, minor):
    make_consent(minor, by=guardian, kind="link")
    make_link(by=guardian, athlete=minor)
    sent = {"kind": "link", "given": "no"}
    assert client_of(guardian).post(reverse("consents", args=[minor.id]), sent).status_code == 303
    assert PrivateLink.objects.get().revoked_at is not None
