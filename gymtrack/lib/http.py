"""What views share: a page or the part that htmx asked for, redirects after a POST, no caching."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import TypeVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_vary_headers

R = TypeVar("R", bound=HttpResponseBase)


def render_page(
    request: HttpRequest,
    template: str,
    context: Mapping[str, object] | None = None,
    *,
    status: int = HTTPStatus.OK,
    fragment: str | None = None,
) -> HttpResponse:
    """Render a page, or only `template#fragment` where htmx asked and the view names a fragment.

    A personal page: it is kept in no cache, so that after signing out the next person at the tablet cannot
    go back to it.
    """
    whole = fragment is None or not wants_fragment(request)
    name = template if whole else f"{template}#{fragment}"
    response = render(request, name, dict(context or {}), status=status)
    patch_vary_headers(response, ["HX-Request"])
    return kept_nowhere(response)


def wants_fragment(request: HttpRequest) -> bool:
    """Whether htmx asks for a part of a page (and not, by going back, for the whole of it)."""
    headers = request.headers
    return headers.get("HX-Request") == "true" and headers.get("HX-History-Restore-Request") != "true"


class SeeOther(HttpResponseRedirect):
    """303: whatever the method was, GET the other page (RFC 9110, 15.4.4)."""

    status_code = HTTPStatus.SEE_OTHER


def see_other(address: str) -> SeeOther:
    """Lead to an address of this site after a POST."""
    return kept_nowhere(SeeOther(address))


def redirect_to(name: str, *args: object, **kwargs: object) -> SeeOther:
    """Lead to a named page after a POST; raises NoReverseMatch where there is none."""
    return see_other(reverse(name, args=args, kwargs=kwargs))


def kept_nowhere(response: R) -> R:
    """Set Cache-Control: no-store (RFC 9111, 5.2.2.5) and return the response."""
    response["Cache-Control"] = "no-store"
    return response
