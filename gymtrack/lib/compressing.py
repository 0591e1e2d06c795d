"""Compresses what tablets on the gym floor load, whatever server stands in front.

Only where lengths tell nothing. The attack on compressed answers (BREACH: Gluck, Harris and Prado 2013) needs a secret
and the attacker's own words in one body, and a browser that sends the cookie of whom the secret belongs to. Files and
the shell of the floor board hold nobody's secret. What the floor's API tells is fetched with a key in a header, which
no other site can make a browser send; it holds no key and repeats nothing of the request. Everything else, with its
CSRF tokens, goes as it is.
"""

from __future__ import annotations

import re
from http import HTTPStatus
from typing import Final

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

_PLACES: Final = ("/floor/", "/sw.js", "/api/v1/floor/")
_WORTH_IT: Final = re.compile(r"text/|image/svg|application/(\w+\+)?(json|javascript)")


class FloorGZipMiddleware(GZipMiddleware):
    """Compresses text that is asked for by a GET, unless the storage of static files keeps a compressed one already."""

    max_random_bytes = 0  # there is nothing to hide, and the same file is the same bytes

    def process_request(self, request: HttpRequest) -> None:
        """Take the tag of a compressed file for that of the file, which the server of static files compares."""
        if (tag := request.META.get("HTTP_IF_NONE_MATCH")) and _is_ours(request):
            request.META["HTTP_IF_NONE_MATCH"] = tag.replace('W/"', '"')

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        """Compress where it is ours, whole, and text."""
        whole = request.method == "GET" and response.status_code == HTTPStatus.OK
        if whole and _is_ours(request) and _WORTH_IT.match(response.get("Content-Type", "")):
            return super().process_response(request, response)
        return response


def _is_ours(request: HttpRequest) -> bool:
    return request.path_info.startswith((settings.STATIC_URL, *_PLACES))
