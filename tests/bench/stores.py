"""A data folder and a database that nobody else uses, made on the engine of DATABASE_URL and removed again."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from tempfile import TemporaryDirectory
from urllib.parse import urlsplit

import psycopg


@contextmanager
def own_store() -> Iterator[Mapping[str, str]]:
    """Give the environment variables that lead to an empty store: a SQLite file unless the engine is PostgreSQL."""
    url = os.environ.get("DATABASE_URL", "")
    with TemporaryDirectory(prefix="gymtrack-bench-") as folder:
        if url.startswith("postgres"):
            with _own_database(url) as own:
                yield {"GYMTRACK_DATA": folder, "DATABASE_URL": own}
        else:
            yield {"GYMTRACK_DATA": folder, "DATABASE_URL": f"sqlite:///{folder}/gym.sqlite3"}


@contextmanager
def _own_database(url: str) -> Iterator[str]:
    """Make a database beside the one that the URL names, and drop it whoever is still connected."""
    name = f"bench_{secrets.token_hex(4)}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
        try:
            yield urlsplit(url)._replace(path=f"/{name}").geturl()
        finally:
            connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
