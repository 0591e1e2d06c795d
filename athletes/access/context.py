"""What every template knows about who is looking."""

from __future__ import annotations

from django.http import HttpRequest

from athletes.access.members import current_member, held_memberships
from athletes.models import Membership, PrivateLink


def member(request: HttpRequest) -> dict[str, Membership | list[Membership] | PrivateLink | None]:
    """Give templates `member`, the membership in use or None, and `memberships`, all that they hold.

    `private_link` is the one by which this browser looks where nobody is signed in, else None.
    """
    if getattr(request, "user", None) is None or not request.user.is_authenticated:
        return {"member": None, "memberships": [], "private_link": getattr(request, "link", None)}
    # No view was found for an address that does not exist, and so no member either; its page has a header too.
    found = getattr(request, "member", None) or current_member(request)
    return {"member": found, "memberships": held_memberships(request), "private_link": None}
