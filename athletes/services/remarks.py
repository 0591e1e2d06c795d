"""Free text about facts, kept apart from them."""

from __future__ import annotations

import hashlib
import secrets
from uuid import UUID

from athletes.models import Gym, Person, Remark


def keep_remark(*, gym: Gym, subject: Person | None, about: UUID, text: str) -> str:
    """Store a remark about a fact and return the commitment (SHA-256, hex) for the fact; '' for no text.

    About who was erased meanwhile (a tablet may send late what waited on it) nothing is stored any more.
    """
    text = text.strip()
    if not text:
        return ""
    salt = secrets.token_hex(32)
    if subject is None or not subject.erased_at:
        Remark.objects.create(gym=gym, subject=subject, about=about, text=text, salt=salt)
    return commitment(salt, text)


def commitment(salt: str, text: str) -> str:
    """Return SHA-256 over salt and text, as 64 hexadecimal digits."""
    return hashlib.sha256(f"{salt}\n{text}".encode()).hexdigest()
