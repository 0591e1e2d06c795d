"""Where a request comes from, and where to go after a form."""

from __future__ import annotations

from urllib.parse import urlsplit
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse

from gymtrack.lib.places import came_from

__all__ = ("beside_tiles", "came_from")


def beside_tiles(request: HttpRequest, session_id: UUID) -> bool:
    """Whether htmx, which names its page, may renew tiles there: only the board of the session has any."""
    asked_from = request.headers.get("HX-Current-URL")
    return asked_from is None or urlsplit(asked_from).path == reverse("session", args=[session_id])
