"""The site's addresses, and a page behind the same doors that does nothing: the floor of every page."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import URLPattern, URLResolver, path

from athletes.access.rules import EVERYBODY, MemberRequest, allow
from gymtrack import urls


@allow(*EVERYBODY)
def idle(_request: MemberRequest) -> HttpResponse:
    return HttpResponse("ok")


urlpatterns: list[URLPattern | URLResolver] = [path("idle/", idle, name="idle"), *urls.urlpatterns]
