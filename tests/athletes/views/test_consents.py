import pytest
from django.urls import reverse

from athletes.models import Consent
from tests.factories.athletes import make_consent, make_login, years_before_today


def _address(athlete):
    return reverse("consents", args=[athlete.id])


def _said():
    return [(row.kind, row.given, row.said_by) for row in Consent.objects.order_by("recorded_at")]


def test_an_athlete_gives_and_withdraws_and_it_holds_at_once(client_of, athlete_member, athlete):
    client = client_of(athlete_member)
    assert "Nothing said yet" in client.get(_address(athlete)).content.decode()
    for word in ("yes", "no"):
        sent = {"kind": "inversion", "given": word}
        assert client.post(_address(athlete), sent).status_code == 303
    assert _said() == [("inversion", True, "athlete"), ("inversion", False, "athlete")]
    assert "<strong>Not agreed</strong>" in client.get(_address(athlete)).content.decode()


def test_a_guardian_says_it_for_the_ward(client_of, guardian, minor):
    client = client_of(guardian)
    client.post(_address(minor), {"kind": "spotting", "given": "yes"})
    assert _said() == [("spotting", True, "guardian")]
    assert _address(minor) in client.get(reverse("progress_of", args=[minor.id])).content.decode()


def test_a_minor_reads_and_says_nothing(client_of, minor):
    client = client_of(make_login(minor))
    page = client.get(_address(minor))
    assert "At this age a guardian says it" in page.content.decode()
    assert "<button name=" not in page.content.decode()
    assert client.post(_address(minor), {"kind": "spotting", "given": "yes"}).status_code == 403
    assert _said() == []


def test_a_coach_writes_down_when_it_was_said(client_of, coach, athlete):
    sent = {"kind": "spotting", "given": "yes", "said_at": "2026-03-02T18:30"}
    assert client_of(coach).post(_address(athlete), sent).status_code == 303
    assert Consent.objects.get().happened_at.isoformat() == "2026-03-02T17:30:00+00:00"  # Berlin's winter time


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"said_at": "2999-01-01T10:00"}, "said_at"), ({"said_at": "soon"}, "said_at"), ({"given": ""}, "given")],
)
def test_a_mistake_stands_beside_its_field(client_of, coach, athlete, changed, field):
    sent = {"kind": "spotting", "given": "yes", "said_at": "", **changed}
    response = client_of(coach).post(_address(athlete), sent)
    assert response.status_code == 422
    form = next(kind["form"] for kind in response.context["kinds"] if kind["code"] == "spotting")
    assert list(form.errors) == [field]
    assert _said() == []


def test_an_unknown_kind_is_refused_and_nothing_breaks(client_of, coach, athlete):
    response = client_of(coach).post(_address(athlete), {"kind": "<b>", "given": "yes"})
    assert response.status_code == 422
    assert _said() == []


def test_another_athlete_and_another_gym_find_nothing(client_of, athlete_member, other_coach, minor):
    for member in (athlete_member, other_coach):
        assert client_of(member).get(_address(minor)).status_code == 404
        assert client_of(member).post(_address(minor), {"kind": "spotting", "given": "yes"}).status_code == 404


def test_history_is_shown_with_a_fixed_number_of_queries(client_of, coach, guardian, minor, django_assert_num_queries):
    client = client_of(coach)
    client.get(_address(minor))
    with django_assert_num_queries(6):
        client.get(_address(minor))
    for by in (coach, guardian, coach):
        make_consent(minor, by=by)
    with django_assert_num_queries(6):
        page = client.get(_address(minor)).content.decode()
    assert page.count("(entered by") == 3


def test_how_somebody_stands_on_the_board_is_chosen_limited_and_taken_back(client_of, guardian, minor):
    client = client_of(guardian)
    shown = []
    for word in ("full_name", "initials", "number", "no"):
        assert client.post(_address(minor), {"kind": "board", "given": word}).status_code == 303
        page = client.get(_address(minor)).content.decode()
        shown.append(page.split("<strong>Shown ")[1].split("<")[0])
    assert shown == ["by full name", "by initials", "by the number alone", "by initials"]
    assert client.post(_address(minor), {"kind": "board", "given": "yes"}).status_code == 422
    assert client.post(_address(minor), {"kind": "link", "given": "initials"}).status_code == 422
    assert Consent.objects.count() == 4


def test_at_sixteen_they_say_what_is_shown_of_them_and_a_guardian_the_rest(client_of, guardian, minor):
    minor.person.birth_on = years_before_today(16)
    minor.person.save()
    own, theirs = client_of(make_login(minor)), client_of(guardian)
    assert own.post(_address(minor), {"kind": "link", "given": "yes"}).status_code == 303
    assert own.post(_address(minor), {"kind": "spotting", "given": "yes"}).status_code == 403
    assert theirs.post(_address(minor), {"kind": "link", "given": "no"}).status_code == 403
    assert theirs.post(_address(minor), {"kind": "spotting", "given": "yes"}).status_code == 303
    assert _said() == [("link", True, "athlete"), ("spotting", True, "guardian")]
    assert "your ward decides this themselves" in theirs.get(_address(minor)).content.decode()


def test_a_form_leads_back_to_where_it_was_opened_within_the_site(client_of, coach, athlete):
    for asked, led in (("/today/", "/today/"), ("//evil.example/", _address(athlete))):
        sent = {"kind": "inversion", "given": "yes", "next": asked}
        assert client_of(coach).post(_address(athlete), sent).headers["Location"] == led
