"""Why an athlete stands as they do at a step: at a moment, as it was known then or as it is known now."""

from __future__ import annotations

from typing import cast
from urllib.parse import urlencode
from uuid import UUID

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, MemberRequest, allow
from gymtrack.lib.http import render_page
from skills.core.moments import Asked
from skills.forms.whys import WhyForm
from skills.queries.books import book_of
from skills.queries.whys import Known, why_of
from skills.why_words import ODD_HOURS, why_words


@require_safe
@allow(*STAFF)
def why(request: MemberRequest, athlete_id: UUID, code: str) -> HttpResponse:
    """Show the state, what it rests on and what was missing; the moment stands in the address."""
    athlete = access_athlete(request.member, athlete_id)
    page = book_of(athlete.gym).steps.get(code)
    if page is None:
        raise Http404
    form = WhyForm(athlete.gym.time_zone, timezone.now(), request.GET)
    context: dict[str, object] = {"athlete": athlete, "page": page, "form": form}
    if form.is_valid():
        known = cast("Known", form.known_chosen)
        context["why"] = why_words(why_of(athlete, code, form.asked.us, known))
        context["odd_hour"] = ODD_HOURS[form.asked.oddness]
        context |= _other_ways(form, form.asked, known)
    return render_page(request, "skills/whys/why.html", context, status=form.status)


def _other_ways(form: WhyForm, asked: Asked, known: Known) -> dict[str, object]:
    """Return the addresses of the same question about what else was known, and about the other of two hours."""
    at, hour = form.cleaned_data["at"], form.cleaned_data["hour"]
    other: Known = "now" if known == "then" else "then"
    query = {key: value for key, value in (("at", at), ("hour", hour)) if value}
    other_hour = "" if hour == "earlier" else "earlier"
    twice = asked.oddness in {"earlier", "later"}
    return {
        "other_known": other,
        "other_address": "?" + urlencode({**query, "known": other}),
        "hour_address": "?" + urlencode({"at": at, "known": known, "hour": other_hour}) if twice else "",
    }
