"""Whether anybody has founded a gym in this installation yet."""

from __future__ import annotations

from athletes.models import Gym


def is_founded() -> bool:
    """Return whether there is a gym; until then the founding page is open to whoever comes first."""
    return Gym.objects.exists()
