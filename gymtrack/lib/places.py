"""Where to go after a form: back to where it was opened, within this site alone."""

from __future__ import annotations

from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme


def came_from(request: HttpRequest, name: str, *args: object) -> str:
    """Return the `next` of the form or the address where it is a path of this site, else the named page."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    within = asked.startswith("/") and url_has_allowed_host_and_scheme(asked, allowed_hosts=None)
    return asked if within else reverse(name, args=args)
