"""Identifiers: time-ordered UUIDs (RFC 9562, version 7) for rows, random ones (version 4) for subjects."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Protocol

from uuid6 import uuid7


class IdSource(Protocol):
    """Where ids come from."""

    def row_id(self) -> uuid.UUID:
        """Return a UUID in the shape of version 7, which no row has yet."""

    def subject_id(self) -> uuid.UUID:
        """Return a UUID in the shape of version 4, which no subject has yet."""


class _Fresh:
    """Ids made now, from the machine's randomness."""

    def row_id(self) -> uuid.UUID:
        return uuid.UUID(int=uuid7().int)

    def subject_id(self) -> uuid.UUID:
        return uuid.uuid4()


_source: ContextVar[IdSource] = ContextVar("id_source", default=_Fresh())  # noqa: B039 - it holds nothing


@contextmanager
def ids_from(source: IdSource) -> Iterator[None]:
    """Take all ids that the block makes from `source`, so that what it writes can be made again to the byte."""
    token = _source.set(source)
    try:
        yield
    finally:
        _source.reset(token)


def new_id() -> uuid.UUID:
    """Return a new UUIDv7; its order is the order of making, to the millisecond."""
    return _source.get().row_id()


def new_subject() -> uuid.UUID:
    """Return a new random UUIDv4: a subject id must tell nothing, not even when it was made."""
    return _source.get().subject_id()
