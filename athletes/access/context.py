"""What every template knows about who is looking."""

from __future__ import annotations

from django.http import HttpRequest

from athletes.access.members import current_member, held_memberships
from athletes.models import Membership


def member(request: HttpRequest) -> dict[str, Membership | list[Membership] | None]:
    """Give templates `member`, the membership in use or None, and `memberships`, all that they hold."""
    if getattr(request, "user", None) is None or not request.user.is_authenticated:
        return {"member": None, "memberships": []}
    # No view was found for an address that does not exist, and so no member either; its page has a header too.
    found = getattr(request, "member", None) or current_member(request)
    return {"member": found, "memberships": held_memberships(request)}
