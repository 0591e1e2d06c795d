"""The end of who looks from home: a guardian's link to an athlete, an athlete's own log-in."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.views.decorators.http import require_POST

from athletes.access.records import access_athlete, access_guardianship
from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.services.links import end_guardianship, end_login
from gymtrack.lib.http import redirect_to


@require_POST
@allow(*STAFF, right="may_log")
def guardian_end(request: MemberRequest, athlete_id: UUID, guardianship_id: UUID) -> HttpResponseBase:
    """End a guardian's link to an athlete."""
    link = access_guardianship(request.member, athlete_id, guardianship_id)
    end_guardianship(by=request.member, guardianship=link)
    guardian, name = link.guardian.person.full_name, link.athlete.board_name
    messages.success(request, f"{guardian} does not see the progress of {name} any more.")
    return redirect_to("athlete_change", athlete_id)


@require_POST
@allow(*STAFF, right="may_log")
def login_end(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """End an athlete's own log-in."""
    athlete = access_athlete(request.member, athlete_id)
    end_login(by=request.member, athlete=athlete)
    messages.success(request, f"{athlete.board_name} has no log-in any more.")
    return redirect_to("athlete_change", athlete_id)
