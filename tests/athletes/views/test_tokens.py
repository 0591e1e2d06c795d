import re

from django.urls import reverse

from athletes.models import ApiToken
from athletes.services.tokens import digest_of, make_token


def test_a_key_is_shown_once(client_of, owner):
    client, address = client_of(owner), reverse("tokens")
    response = client.post(address, {"name": "door tablet"})
    assert response.status_code == 201
    (key,) = re.findall(r"<code[^>]*>([\w-]{43})</code>", response.content.decode())
    token = ApiToken.objects.get()
    assert token.digest == digest_of(key)
    again = client.get(address).content.decode()
    assert "door tablet" in again
    assert key not in again
    assert token.digest not in again


def test_a_form_sent_twice_makes_one_key(client_of, owner):
    client, address = client_of(owner), reverse("tokens")
    client.post(address, {"name": "door tablet"})
    again = client.post(address, {"name": "door tablet"})
    assert again.status_code == 422
    assert ApiToken.objects.count() == 1


def test_a_key_without_a_name_is_refused(client_of, owner):
    response = client_of(owner).post(reverse("tokens"), {"name": " "})
    assert response.status_code == 422
    assert response.context["form"].errors["name"] == ["Name of the new key is missing."]
    assert not ApiToken.objects.exists()


def test_a_revoked_key_says_since_when(client_of, owner):
    token = make_token(by=owner, name="door tablet").token
    client = client_of(owner)
    client.post(reverse("token_revoke", args=[token.id]))
    assert "revoked on" in client.get(reverse("tokens")).content.decode()


def test_one_gyms_keys_are_not_on_the_others_page(client_of, owner, other_coach):
    make_token(by=other_coach, name="uptown door")
    assert "uptown door" not in client_of(owner).get(reverse("tokens")).content.decode()
