"""Free text about facts, kept apart from them."""

from __future__ import annotations

import hashlib
import secrets
from uuid import UUID

from athletes.models import Gym, Person, Remark


def keep_remark(*, gym: Gym, subject: Person | None, about: UUID, text: str) -> str:
    """Store a remark about a fact and return the commitment (SHA-256, hex) for the fact; '' for no text."""
    text = text.strip()
    if not text:
        return ""
    salt = secrets.token_hex(32)
    Remark.objects.create(gym=gym, subject=subject, about=about, text=text, salt=salt)
    return commitment(salt, text)


def commitment(salt: str, text: str) -> str:
    """Return SHA-256 over salt and text, as 64 hexadecimal digits."""
    return hashlib.sha256(f"{salt}\n{text}".encode()).hexdigest()
