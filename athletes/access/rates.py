"""How often something may be tried: the account library's counts, by the rates that the settings name."""

from __future__ import annotations

from allauth.core.internal import ratelimit
from allauth.core.ratelimit import respond_429
from django.http import HttpRequest, HttpResponseBase


def too_often(request: HttpRequest, action: str, *, key: str | None = None) -> HttpResponseBase | None:
    """Count a try of `action`; return the page to answer with where that was one too many.

    A GET counts like a POST. `key` is what is tried, for rates that are counted by it.
    """
    return None if _counted(request, action, key) else _answer(request)


def spent(request: HttpRequest, action: str, *, key: str | None = None) -> HttpResponseBase | None:
    """Return that page where no more tries are left, without counting one."""
    return None if _counted(request, action, key, dry_run=True) else _answer(request)


def _counted(request: HttpRequest, action: str, key: str | None, *, dry_run: bool = False) -> bool:
    usage = ratelimit.consume(request, app="allauth.account", action=action, key=key, dry_run=dry_run, limit_get=True)
    return usage is not None


def _answer(request: HttpRequest) -> HttpResponseBase:
    answer: HttpResponseBase = respond_429(request)
    return answer
