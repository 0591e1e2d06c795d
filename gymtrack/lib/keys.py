"""Secrets that are made once and kept in a file beside the data."""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured


def kept_secret(path: Path) -> str:
    """Return the secret in `path`, making it on the first call (64 random bytes, readable by the owner only).

    Two processes that start at the same instant agree: the file is created exclusively, the loser reads
    what the winner wrote. Raises ImproperlyConfigured where the folder cannot be written to.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            _create(path)
        return path.read_text("ascii")
    except OSError as error:
        reason = "it is a file" if path.parent.is_file() else error.strerror
        message = f"The data folder {path.parent} cannot be used: {reason}. Choose another one with --data."
        raise ImproperlyConfigured(message) from error


def _create(path: Path) -> None:
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(64))
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(draft, path)  # atomic, and fails where another process was first
    except FileExistsError:
        pass
    finally:
        draft.unlink()


def derived_key(secret: str, purpose: str) -> bytes:
    """Return the key for one purpose, made of a secret: who learns one of them learns none of the others."""
    return hmac.new(secret.encode(), purpose.encode(), hashlib.sha256).digest()


def keyed_digest(plain_digest: str, key: bytes) -> str:
    """Return a digest under a key, made of a plain one: 64 signs, the first of which no plain one begins with."""
    return "k" + hmac.new(key, plain_digest.encode(), hashlib.sha256).hexdigest()[:63]
