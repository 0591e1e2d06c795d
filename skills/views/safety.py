"""Safety: risk notes to read, what happened, and whether the equipment is fit for use."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.views.decorators.http import require_POST

from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.refusal import Refusal
from gymtrack.lib.http import redirect_to
from skills.access import access_step
from skills.services import safety as service


@require_POST
@allow(*STAFF)
def risk_read(request: MemberRequest, step_id: UUID) -> HttpResponseBase:
    """Record that a coach has read the risk notes of a step, as they stood on the page."""
    step = access_step(request.member, step_id)
    try:
        service.read_risk_notes(by=request.member, step=step, digest=request.POST.get("digest", ""))
        messages.success(request, f"Read: the risk notes of {step}.")
    except Refusal as refusal:
        messages.info(request, str(refusal))
    return redirect_to("today")
