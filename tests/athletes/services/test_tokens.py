import pytest

from athletes.models import ApiToken, AuditEntry
from athletes.services.tokens import BadKeyName, KeyNameTaken, digest_of, make_token, revoke_token


def test_only_the_digest_of_a_key_is_kept(owner):
    made = make_token(by=owner, name=" door   tablet ")
    stored = ApiToken.objects.get()
    assert (stored.name, stored.membership) == ("door tablet", owner)
    assert stored.digest == digest_of(made.key)
    assert made.key not in str(ApiToken.objects.values().get())
    assert made.key not in AuditEntry.objects.get().content
    assert make_token(by=owner, name="second").key != made.key


@pytest.mark.parametrize("name", ["", "  ", "x" * 61])
def test_a_key_needs_a_name(owner, name):
    with pytest.raises(BadKeyName):
        make_token(by=owner, name=name)


def test_a_key_is_revoked_once(owner):
    token = make_token(by=owner, name="door").token
    assert revoke_token(by=owner, token=token) is True
    assert revoke_token(by=owner, token=token) is False
    assert [entry.act for entry in AuditEntry.objects.all()] == ["key_made", "key_revoked"]


def test_another_gyms_key_cannot_be_revoked(owner, other_coach):
    token = make_token(by=other_coach, name="door").token
    assert revoke_token(by=owner, token=token) is False
    assert ApiToken.objects.get().revoked_at is None


def test_two_keys_in_use_have_two_names(owner, other_coach):
    token = make_token(by=owner, name="door").token
    with pytest.raises(KeyNameTaken, match="“door” already"):
        make_token(by=owner, name=" door ")
    make_token(by=other_coach, name="door")
    revoke_token(by=owner, token=token)
    assert make_token(by=owner, name="door").token.name == "door"
