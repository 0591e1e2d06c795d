"""What was measured of an athlete's body, and noting more of it."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.bodies import is_old
from athletes.core.refusal import Refusal
from athletes.forms.measures import BodyForm
from athletes.queries.bodies import body_history, body_notes_of
from athletes.services.measures import note_body
from gymtrack.lib.http import redirect_to, render_page
from gymtrack.lib.units import format_length, format_mass

if TYPE_CHECKING:
    from decimal import Decimal

    from athletes.models import Athlete

_NAMES = {"stature_m": "stature", "mass_kg": "mass", "chest_m": "chest", "armpit_m": "armpit", "reach_m": "reach"}


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*STAFF, right="may_log")
def measures(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show what was measured so far, and note what was measured now."""
    athlete = access_athlete(request.member, athlete_id)
    today = timezone.localdate(timezone=athlete.gym.zone)
    form = BodyForm(request.POST or None, athlete=athlete, today=today)
    if form.is_valid():
        try:
            note_body(by=request.member, athlete=athlete, entry=form.entry)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "The measures are noted.")
            return redirect_to("measures", athlete.id)
    stature, minor = body_notes_of(athlete).stature_m, athlete.is_minor()
    context = {
        "athlete": athlete,
        "minor": minor,
        "form": form,
        "asked_again": bool(stature and is_old(measured_on=stature.on, today=today, minor=minor)),
        "history": [
            (line.on, [_told(part, value, athlete) for part, value in line.values]) for line in body_history(athlete)
        ],
    }
    return render_page(request, "athletes/measures.html", context, status=form.status)


def _told(part: str, value: Decimal, athlete: Athlete) -> str:
    units = athlete.gym.units
    return f"{_NAMES[part]} {format_mass(value, units) if part == 'mass_kg' else format_length(value, units)}"
