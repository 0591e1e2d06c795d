"""Asking for erasure and answering, as pages."""

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import ErasureRequest, Person, Remark
from athletes.services.erasure_requests import ask_erasure
from tests.factories.athletes import Role, make_athlete, make_login, make_member, make_person
from tests.helpers.html import words_of

SURE = {"sure": "on"}


@pytest.fixture(autouse=True)
def data_folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    return tmp_path


def is_erased(person: Person) -> bool:
    return Person.objects.get(pk=person.pk).erased_at is not None


@pytest.mark.parametrize("who", ["owner", "coach", "athlete_member", "guardian"])
def test_everybody_reads_what_would_go_and_asks_once(request, client_of, who):
    member = request.getfixturevalue(who)
    client, address = client_of(member), reverse("erasure_mine")
    words = words_of(client.get(address))
    assert "What goes" in words
    assert "What stays" in words
    assert "backups that were made before" in words.lower()
    answer = client.post(address, SURE)
    assert (answer.status_code, answer["Location"]) == (303, address)
    asked = ErasureRequest.objects.get()
    assert (asked.person_id, asked.asked_by_id) == (member.person_id, member.id)
    assert "Asked for on" in words_of(client.get(address))
    assert client.post(address, SURE).status_code == 422
    assert ErasureRequest.objects.count() == 1


def test_nobody_asks_without_the_tick(client_of, athlete_member):
    answer = client_of(athlete_member).post(reverse("erasure_mine"), {"x": "1"})
    assert answer.status_code == 422
    assert "cannot be undone" in words_of(answer)
    assert not ErasureRequest.objects.exists()


def test_a_guardian_asks_for_a_ward_and_for_nobody_else(client_of, guardian, minor, athlete):
    client = client_of(guardian)
    address = reverse("erasure_ward", args=[minor.id])
    assert address in client.get(reverse("erasure_mine")).content.decode()
    assert client.post(address, SURE).status_code == 303
    assert ErasureRequest.objects.get().person_id == minor.person_id
    assert client.get(reverse("erasure_ward", args=[athlete.id])).status_code == 404


def test_the_owner_sees_who_asked_and_erases(client_of, owner, athlete_member, athlete):
    ask_erasure(by=athlete_member, person=athlete.person)
    client = client_of(owner)
    listed = client.get(reverse("erasures"))
    address = reverse("erasure", args=[athlete.person_id])
    assert "Ada Lindqvist" in words_of(listed)
    assert address in listed.content.decode()
    page = words_of(client.get(address))
    assert "Refuse the request" in page
    assert client.post(address, {"x": "1"}).status_code == 422
    assert not is_erased(athlete.person)
    answer = client.post(address, SURE)
    assert (answer.status_code, answer["Location"]) == (303, reverse("erasures"))
    assert is_erased(athlete.person)
    after = words_of(client.get(reverse("erasures")))
    assert "Ada" not in after
    assert "erased, done by Olga Brandt" in after
    assert client.get(address).status_code == 404


def test_a_refusal_needs_a_reason_which_who_asked_reads(client_of, owner, athlete_member, athlete):
    ask_erasure(by=athlete_member, person=athlete.person)
    client, address = client_of(owner), reverse("erasure", args=[athlete.person_id])
    for empty in ("", "  "):
        answer = client.post(address, {"reason": empty})
        assert answer.status_code == 422
        assert "Why not" in words_of(answer)
    assert client.post(address, {"reason": "An insurer <asks>."}).status_code == 303
    assert not is_erased(athlete.person)
    own = client_of(athlete_member).get(reverse("erasure_mine"))
    assert "An insurer <asks>." in words_of(own)
    assert "Ask for erasure" in words_of(own)
    assert Remark.objects.get().subject_id == athlete.person_id


def test_a_reason_without_a_request_refuses_nothing(client_of, owner, athlete):
    answer = client_of(owner).post(reverse("erasure", args=[athlete.person_id]), {"reason": "no"})
    assert answer.status_code == 200
    assert not ErasureRequest.objects.exists()
    assert not is_erased(athlete.person)


def test_who_did_not_ask_is_found_by_name_address_and_number(client_of, owner, coach, other_gym):
    gone = make_athlete(owner.gym, "Åsa Ólafsdóttir", number=77)
    make_login(gone, email="aasa@x.example")
    Person.objects.filter(pk=gone.person_id).update(email="aasa@x.example")
    make_athlete(other_gym, "Åsa Elsewhere")
    invited = make_person(owner.gym, "Åsa Invited")
    client = client_of(owner)
    for words, names in (
        ("åSA ó", ["Åsa Ólafsdóttir"]),
        ("AASA@X", ["Åsa Ólafsdóttir"]),
        ("77", ["Åsa Ólafsdóttir"]),
        ("åsa", ["Åsa Invited", "Åsa Ólafsdóttir"]),
        ("cleo", ["Cleo Adeyemi"]),
    ):
        answer = client.get(reverse("erasures"), {"q": words})
        assert [each.person.full_name for each in answer.context["found"]] == names, words
    assert "knows nobody like that" in words_of(client.get(reverse("erasures"), {"q": "zzz"}))
    assert client.post(reverse("erasure", args=[invited.id]), SURE).status_code == 303
    assert is_erased(invited)


def test_the_only_owner_is_told_why_not(client_of, owner):
    answer = client_of(owner).post(reverse("erasure", args=[owner.person_id]), SURE)
    assert answer.status_code == 422
    assert "only owner" in words_of(answer)


def test_an_owner_who_erases_themselves_is_signed_out(client_of, owner):
    make_member(owner.gym, Role.OWNER, "Odo Falk")
    client = client_of(owner)
    answer = client.post(reverse("erasure", args=[owner.person_id]), SURE)
    assert (answer.status_code, answer["Location"]) == (303, reverse("account_login"))
    assert is_erased(owner.person)
    assert client.get(reverse("gym")).status_code in {302, 303}


def test_who_was_erased_is_on_no_list_and_has_no_page(client_of, owner, coach, athlete, minor):
    client = client_of(owner)
    client.post(reverse("erasure", args=[athlete.person_id]), SURE)
    for query in ("", "?left=yes", "?q=erased", "?left=yes&q=erased"):
        assert str(athlete.id) not in client.get(reverse("roster") + query).content.decode()
    for name in ("athlete", "athlete_change", "proof_choose"):
        assert client.get(reverse(name, args=[athlete.id])).status_code == 404
    assert client.get(reverse("athlete", args=[minor.id])).status_code == 200


def test_nobody_who_is_not_signed_in_asks(db):
    assert Client().get(reverse("erasure_mine")).status_code in {302, 303}
