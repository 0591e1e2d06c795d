"""What every template knows about who is looking."""

from __future__ import annotations

from django.http import HttpRequest

from athletes.models import Membership


def member(request: HttpRequest) -> dict[str, Membership | None]:
    """Give templates `member`: the membership in use, or None."""
    return {"member": getattr(request, "member", None)}
