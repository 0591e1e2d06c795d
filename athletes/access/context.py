"""What every template knows about who is looking."""

from __future__ import annotations

from django.http import HttpRequest

from athletes.access.members import held_memberships
from athletes.models import Membership


def member(request: HttpRequest) -> dict[str, Membership | list[Membership] | None]:
    """Give templates `member`, the membership in use or None, and `memberships`, all that they hold."""
    found: Membership | None = getattr(request, "member", None)
    return {"member": found, "memberships": held_memberships(request) if found else []}
