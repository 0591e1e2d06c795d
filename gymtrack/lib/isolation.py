"""What other sites may make of our answers: nothing; and what our pages may ask of a device: no camera, no place."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

from gymtrack.lib.problems import API, bare_problem

_PLAIN: Final = (
    "This address is for HTTPS alone, and nothing was read. A key that was sent here went over the network in plain "
    "text: revoke it, and make another one."
)
HEADERS: Final = {
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()",
}


class PlainApiMiddleware:
    """Refuses a program that comes over plain HTTP where the site is for HTTPS; browsers are led there before."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, or refuse before anything of the request is looked at."""
        if settings.SECURE_SSL_REDIRECT and not request.is_secure() and request.path.startswith(API):
            return bare_problem(HTTPStatus.FORBIDDEN, _PLAIN)
        return self.get_response(request)


class IsolationMiddleware:
    """Sets these headers on every answer, files too."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer with the headers."""
        response = self.get_response(request)
        for name, value in HEADERS.items():
            response[name] = value
        return response
