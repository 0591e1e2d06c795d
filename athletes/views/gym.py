"""The gym's settings, and as whom somebody acts in it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponseBase
from django.views.decorators.http import require_POST

from athletes.access.members import choose_member, held_memberships
from athletes.access.rules import EVERYBODY, OWNER, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.forms.gym import GymForm
from athletes.services.gyms import change_gym
from gymtrack.lib.http import redirect_to, render_page


@allow(OWNER)
def gym(request: MemberRequest) -> HttpResponseBase:
    """Show and change the settings."""
    mine = request.member.gym
    stored = {"name": mine.name, "time_zone": mine.time_zone, "units": mine.units}
    form = GymForm(request.POST or None, initial=stored)
    if form.is_valid():
        try:
            change_gym(member=request.member, **form.cleaned_data)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "The settings are stored.")
            return redirect_to("gym")
    return render_page(request, "athletes/gym.html", {"form": form}, status=form.status)


@require_POST
@allow(*EVERYBODY)
def choose_membership(request: MemberRequest) -> HttpResponseBase:
    """Act as another of one's own memberships from now on."""
    chosen = next((m for m in held_memberships(request) if str(m.id) == request.POST.get("membership")), None)
    if chosen is None:
        raise Http404
    choose_member(request, chosen)
    return redirect_to("home")
