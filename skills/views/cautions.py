"""Entering and lifting cautions."""

from __future__ import annotations

from http import HTTPStatus
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, MemberRequest, allow
from athletes.core.refusal import Refusal
from gymtrack.lib.http import redirect_to, render_page, see_other, wants_fragment
from skills.access import access_caution, access_session
from skills.forms.cautions import CautionForm
from skills.services import cautions as service
from skills.views.panels import panel_address, panel_page
from skills.views.places import came_from


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def caution_add(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Enter what an athlete may not do from now on."""
    athlete = access_athlete(request.member, athlete_id)
    form = CautionForm(request.member.gym.zone, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            service.enter_caution(
                by=request.member,
                athlete=athlete,
                loads=form.loads_chosen,
                from_at=timezone.now(),
                until_at=form.until_at,
                reason=form.cleaned_data["reason"],
                caution_id=form.cleaned_data["id"],
            )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "The caution holds from now on. Steps with that load are paused.")
            return redirect_to("athlete", athlete.id)
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK
    return render_page(request, "skills/cautions/add.html", {"form": form, "athlete": athlete}, status=status)


@require_POST
@allow(OWNER, COACH, right="may_log")
def session_unwell(request: MemberRequest, session_id: UUID, athlete_id: UUID) -> HttpResponseBase:
    """In a class: end going upside down for the day, or note torn skin, and show the panel again."""
    session = access_session(request.member, session_id)
    athlete = access_athlete(request.member, athlete_id)
    now, what = timezone.now(), request.POST.get("what")
    if what == "dizzy":
        service.end_inversion_today(by=request.member, athlete=athlete, happened_at=now)
        messages.success(request, "Nothing upside down for the rest of the day. It ends by itself at midnight.")
    elif what == "skin":
        service.note_skin(by=request.member, athlete=athlete, happened_at=now)
        messages.success(request, "Torn skin is noted and shown for a week. Nothing is paused.")
    else:
        return panel_page(request, session, athlete, notice="Tap what it is.")
    if wants_fragment(request):
        return panel_page(request, session, athlete)
    return see_other(panel_address(session, athlete))


@require_POST
@allow(OWNER, COACH, right="may_sign_off")
def caution_lift(request: MemberRequest, caution_id: UUID) -> HttpResponseBase:
    """Lift a caution from now on."""
    caution = access_caution(request.member, caution_id)
    try:
        service.lift_caution(by=request.member, caution=caution)
        messages.success(request, "The caution is lifted. Its steps go on.")
    except Refusal as refusal:
        messages.info(request, str(refusal))
    return see_other(came_from(request, "athlete", caution.athlete_id))
