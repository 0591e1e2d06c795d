"""A guardian's own page: each ward, what is still to be answered, and whom to call."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import practising_athletes
from athletes.access.rules import GUARDIAN, MemberRequest, allow
from athletes.core.consents import WORDS, who_decides
from athletes.queries.consents import consents_at
from athletes.queries.contacts import contact_counts
from gymtrack.lib.http import render_page


@require_safe
@allow(GUARDIAN)
def wards(request: MemberRequest) -> HttpResponse:
    """List the wards, until they come of age, with what only their guardian can say."""
    now = timezone.now()
    athletes = list(practising_athletes(request.member, now))
    ids = [athlete.id for athlete in athletes]
    said, contacts = consents_at(ids, now), contact_counts(ids)
    rows = []
    for athlete in athletes:
        standing = athlete.standing()
        decided = [kind for kind in WORDS if who_decides(kind, standing) == "guardian"]
        rows.append(
            {
                "athlete": athlete,
                "unsaid": [WORDS[kind] for kind in decided if kind not in said[athlete.id]],
                "own_data": standing.own_data,
                "contacts": contacts[athlete.id],
            }
        )
    return render_page(request, "athletes/wards.html", {"wards": rows})
