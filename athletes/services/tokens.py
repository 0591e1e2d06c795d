"""Keys for the API: made once, shown once, revoked."""

from __future__ import annotations

import hashlib
import secrets
from typing import NamedTuple

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import ApiToken, Gym, Membership
from athletes.services.audit import record_act

NAME_LENGTH = 60


class BadKeyName(Refusal):
    """A key needs a name, by which to know it when it must be revoked."""

    field = "name"


class KeyNameTaken(Refusal):
    """A key in use has that name: a form that was sent twice would make a second key that nobody saw."""

    field = "name"


class MadeToken(NamedTuple):
    """A new token and its key, which is nowhere to be read again."""

    token: ApiToken
    key: str


def digest_of(key: str) -> str:
    """Return the SHA-256 of a key. Keys are 256 random bits, so a slow hash would add nothing."""
    return hashlib.sha256(key.encode()).hexdigest()


def new_key() -> str:
    """Return a new key of 256 random bits, as 43 URL-safe characters."""
    return secrets.token_urlsafe(32)


@transaction.atomic
def make_token(*, by: Membership, name: str) -> MadeToken:
    """Make a key that may do what `by` may. Raises BadKeyName, KeyNameTaken."""
    name = " ".join(name.split())
    if not 0 < len(name) <= NAME_LENGTH:
        raise BadKeyName(f"Name the key, in at most {NAME_LENGTH} characters.")
    Gym.objects.select_for_update(no_key=True).get(pk=by.gym_id)  # two forms at once: one key
    if ApiToken.objects.filter(gym=by.gym, name=name, revoked_at=None).exists():
        raise KeyNameTaken(f"A key in use is called “{name}” already: revoke it, or give this one another name.")
    key = new_key()
    token = ApiToken.objects.create(gym=by.gym, membership=by, name=name, digest=digest_of(key))
    record_act(gym=by.gym, actor=by, act="key_made", about=token.id, content={})
    return MadeToken(token, key)


@transaction.atomic
def revoke_token(*, by: Membership, token: ApiToken) -> bool:
    """Revoke a key for good; return whether it was in use until now."""
    revoked_at = timezone.now()
    in_use = ApiToken.objects.filter(gym=by.gym, pk=token.pk, revoked_at=None)
    if not in_use.update(revoked_at=revoked_at):
        return False
    token.revoked_at = revoked_at
    record_act(gym=by.gym, actor=by, act="key_revoked", about=token.id, content={})
    return True
