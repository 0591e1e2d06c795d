"""As whom somebody acts."""

from __future__ import annotations

from django.http import Http404, HttpResponseBase
from django.views.decorators.http import require_POST

from athletes.access.members import choose_member, held_memberships
from athletes.access.rules import EVERYBODY, MemberRequest, allow
from gymtrack.lib.http import redirect_to


@require_POST
@allow(*EVERYBODY)
def choose_membership(request: MemberRequest) -> HttpResponseBase:
    """Act as another of one's own memberships from now on."""
    chosen = next((m for m in held_memberships(request) if str(m.id) == request.POST.get("membership")), None)
    if chosen is None:
        raise Http404
    choose_member(request, chosen)
    return redirect_to("home")


choose_membership.before_second_factor = True  # type: ignore[attr-defined]  # or nobody could turn to another gym
