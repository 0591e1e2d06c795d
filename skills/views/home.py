"""The front door: leads each role to the page that it came for."""

from __future__ import annotations

from typing import Final

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase

from athletes.access.rules import ATHLETE, COACH, GUARDIAN, OWNER, open_to_all
from gymtrack.lib.http import redirect_to
from skills.queries.founding import is_founded

_PAGES: Final = {OWNER: "month", COACH: "today", ATHLETE: "my_progress", GUARDIAN: "my_progress"}


@open_to_all
def home(request: HttpRequest) -> HttpResponseBase:
    """Lead to the first page of the role, or of a private link; else to signing in, or to founding the first gym."""
    member = request.member  # type: ignore[attr-defined]
    if member is not None:
        return redirect_to(_PAGES[member.role])
    if request.link is not None:  # type: ignore[attr-defined]
        return redirect_to("linked")
    if not is_founded():
        return redirect_to("set_up")
    if request.user.is_authenticated:
        raise PermissionDenied
    return redirect_to("account_login")
