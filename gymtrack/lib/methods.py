"""Pages are got and posted to, nothing else; a method that an address does not take is refused in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponseBase, HttpResponseNotAllowed
from django.template.loader import render_to_string

from gymtrack.lib.http import kept_nowhere

PAGE_METHODS: Final = ("GET", "HEAD", "POST")


class MethodsMiddleware:
    """Answers 405 to any other method of a page. The API's views say themselves which they take."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer; an empty 405 to what a browser asks by itself gets the words of a page, and keeps its header."""
        response = self.get_response(request)
        if isinstance(response, HttpResponseNotAllowed) and request.method in PAGE_METHODS and not response.content:
            response.content = render_to_string("405.html", request=request).encode()
            return kept_nowhere(response)
        return response

    @staticmethod
    def process_view(
        request: HttpRequest, view: Callable[..., HttpResponseBase], _args: object, _kwargs: object
    ) -> HttpResponseBase | None:
        """Refuse before anybody is looked for."""
        if request.method in PAGE_METHODS or hasattr(view, "cls"):
            return None
        return HttpResponseNotAllowed(PAGE_METHODS)
