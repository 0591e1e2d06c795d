"""Identifiers: time-ordered UUIDs (RFC 9562, version 7) for rows, random ones (version 4) for subjects."""

from __future__ import annotations

import uuid

from uuid6 import uuid7


def new_id() -> uuid.UUID:
    """Return a new UUIDv7; its order is the order of making, to the millisecond."""
    return uuid.UUID(int=uuid7().int)


def new_subject() -> uuid.UUID:
    """Return a new random UUIDv4: a subject id must tell nothing, not even when it was made."""
    return uuid.uuid4()
