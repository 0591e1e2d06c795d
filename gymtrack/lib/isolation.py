"""What other sites may make of our answers: nothing; and what our pages may ask of a device: no camera, no place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponseBase

HEADERS: Final = {
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()",
}


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
