"""The gym's settings. Here and not with the people, because another time zone moves everybody's readiness."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponseBase

from athletes.access.rules import OWNER, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.forms.gym import GymForm
from gymtrack.lib.http import redirect_to, render_page
from skills.services.gyms import change_gym


@allow(OWNER)
def gym(request: MemberRequest) -> HttpResponseBase:
    """Show and change the settings."""
    mine = request.member.gym
    stored = {name: getattr(mine, name) for name in GymForm.base_fields}
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
