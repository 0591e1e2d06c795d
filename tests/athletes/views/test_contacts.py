import pytest
from django.urls import reverse

from athletes.models import EmergencyContact
from gymtrack.lib.ids import new_id
from tests.factories.athletes import make_login

SENT = {"name": "Ruth Okafor", "relation": "mother", "phone": "+49 30 1234567"}


def _address(athlete):
    return reverse("contacts", args=[athlete.id])


def _sent(**changed):
    return SENT | {"contact_id": str(new_id())} | changed


@pytest.mark.parametrize("who", ["coach", "guardian"])
def test_a_contact_is_stored_changed_and_removed(request, client_of, minor, guardian, who):
    client = client_of(request.getfixturevalue(who))
    assert client.post(_address(minor), _sent()).status_code == 303
    row = EmergencyContact.objects.get()
    assert 'href="tel:+49301234567"' in client.get(_address(minor)).content.decode()
    form = client.get(_address(minor), {"change": row.id}).context["form"]
    assert (form["name"].value(), form["contact_id"].value()) == ("Ruth Okafor", str(row.id))
    client.post(_address(minor), _sent(contact_id=str(row.id), phone="112"))
    assert EmergencyContact.objects.get().phone == "112"
    assert client.post(_address(minor), {"remove": str(row.id)}).status_code == 303
    assert not EmergencyContact.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"name": ""}, "name"), ({"phone": "call mum"}, "phone"), ({"relation": "x" * 61}, "relation")],
)
def test_a_mistake_stands_beside_its_field_and_what_was_typed_stays(client_of, coach, minor, changed, field):
    response = client_of(coach).post(_address(minor), _sent(**changed))
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert response.context["form"]["name"].value() == (SENT | changed)["name"]
    assert not EmergencyContact.objects.exists()


def test_who_only_reads_changes_nothing(client_of, coach, reader, minor):
    client_of(coach).post(_address(minor), _sent())
    for member in (reader, make_login(minor)):
        assert "Ruth Okafor" in client_of(member).get(_address(minor)).content.decode()
        assert client_of(member).post(_address(minor), _sent()).status_code == 403


def test_others_and_what_is_not_there_find_nothing(client_of, coach, other_coach, athlete_member, minor):
    for stranger in (other_coach, athlete_member):
        assert client_of(stranger).get(_address(minor)).status_code == 404
        assert client_of(stranger).post(_address(minor), _sent()).status_code == 404
    for odd in ("nonsense", new_id()):
        assert client_of(coach).get(_address(minor), {"change": odd}).status_code == 404


def test_a_contact_of_another_athlete_is_not_removed(client_of, coach, athlete, minor):
    client = client_of(coach)
    client.post(_address(minor), _sent())
    row = EmergencyContact.objects.get()
    client.post(_address(athlete), {"remove": str(row.id)})
    assert EmergencyContact.objects.get() == row
