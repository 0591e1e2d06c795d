"""What is kept of an act as it was sent."""

import hashlib

from athletes.services.audit import canonical_json
from skills.services.floor.acts import SENT_KEYS, digest_of


def test_the_digest_of_an_act_is_nobodys_to_guess_without_the_key(settings):
    sent = {"kind": "guest", "body": {"name": "Ada Lindqvist"}}
    digest = digest_of(sent)
    plain = hashlib.sha256(canonical_json({key: sent.get(key) for key in SENT_KEYS}).encode()).hexdigest()
    assert digest == digest_of({"body": {"name": "Ada Lindqvist"}, "kind": "guest"})
    assert digest[1:] not in plain
    settings.AUDIT_KEY = "what somebody guessed"
    assert digest_of(sent) != digest
