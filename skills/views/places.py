"""Where a request comes from, and where to go after a form: back there, within this site alone."""

from __future__ import annotations

from urllib.parse import urlsplit
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme


def came_from(request: HttpRequest, name: str, *args: object) -> str:
    """Return the `next` of the form or the address where it is a path of this site, else the named page."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    within = asked.startswith("/") and url_has_allowed_host_and_scheme(asked, allowed_hosts=None)
    return asked if within else reverse(name, args=args)


def beside_tiles(request: HttpRequest, session_id: UUID) -> bool:
    """Whether htmx, which names its page, may renew tiles there: only the board of the session has any."""
    asked_from = request.headers.get("HX-Current-URL")
    return asked_from is None or urlsplit(asked_from).path == reverse("session", args=[session_id])
