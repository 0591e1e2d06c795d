"""Keys for the API: each acts as one membership, and only its digest is kept."""

from __future__ import annotations

from django.db import models

from athletes.models.membership import Membership
from athletes.models.rows import GymRow


class ApiToken(GymRow):
    """A key that a program sends. It can do what its membership may, until it is revoked."""

    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="tokens")
    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name
