"""That an athlete was screened: two dates, and nothing of what was asked."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, MemberRequest, allow, holds
from athletes.core.refusal import Refusal
from athletes.core.screenings import screening_words
from athletes.forms.contacts import ScreeningForm
from athletes.queries.screenings import screening_history
from athletes.services.screenings import enter_screening
from gymtrack.lib.http import redirect_to, render_page


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*STAFF)
def screenings(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show how it stands and everything entered before; enter one, with the right to log."""
    athlete = access_athlete(request.member, athlete_id)
    may_enter = holds(request.member, "may_log")
    form = ScreeningForm(request.POST or None)
    if request.method == "POST" and not may_enter:
        raise PermissionDenied
    if form.is_valid():
        try:
            enter_screening(by=request.member, athlete=athlete, **form.cleaned_data)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "The screening is noted.")
            return redirect_to("screenings", athlete.id)
    history = screening_history(athlete)
    today = timezone.localdate(timezone=athlete.gym.zone)
    context = {
        "athlete": athlete,
        "form": form,
        "may_enter": may_enter,
        "stands": screening_words(next(iter(history), None), today),
        "history": history,
    }
    return render_page(request, "athletes/screenings.html", context, status=form.status)
