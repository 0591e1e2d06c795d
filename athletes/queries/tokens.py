"""API keys, by what is kept of them."""

from __future__ import annotations

from athletes.models import ApiToken


def token_of_digest(digest: str) -> ApiToken | None:
    """Return the token with that digest, with all that a request needs, while its key works; None otherwise."""
    related = ("membership__gym", "membership__account", "membership__person", "membership__athlete")
    return (
        ApiToken.objects.select_related(*related)
        .filter(digest=digest, revoked_at=None, membership__ended_at=None, membership__account__is_active=True)
        .first()
    )
