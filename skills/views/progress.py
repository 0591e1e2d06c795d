"""An athlete's own page: the next step, what is missing, this week's practice, the path so far."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import access_athlete, athletes_in_sight, practising_athletes
from athletes.access.rules import ATHLETE, GUARDIAN, LinkRequest, MemberRequest, allow, allow_link
from gymtrack.lib.http import redirect_to, render_page
from skills import wording
from skills.queries.books import book_of
from skills.queries.progress import athlete_progress
from skills.showing.progress import progress_words
from skills.showing.progress_panels import Viewer, panels_of

if TYPE_CHECKING:
    from athletes.models import Athlete


@allow(ATHLETE, GUARDIAN)
def my_progress(request: MemberRequest) -> HttpResponseBase:
    """Show an athlete their own progress, a guardian the list of their wards."""
    if request.member.role == ATHLETE:
        return _show(request, athletes_in_sight(request.member).get())
    wards = list(practising_athletes(request.member, timezone.now()))
    if len(wards) == 1:
        return redirect_to("progress_of", wards[0].id)
    return render_page(request, "skills/progress/wards.html", {"wards": wards})


@allow(ATHLETE, GUARDIAN)
def progress_of(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show the progress of somebody in sight: a guardian's ward, or oneself."""
    return _show(request, access_athlete(request.member, athlete_id))


@require_safe
@allow_link
def linked(request: LinkRequest) -> HttpResponseBase:
    """Show the same page, to look at alone, to who holds a private link."""
    return _show(request, request.link.athlete, by_link=True) if request.link else redirect_to("my_progress")


def _show(request: MemberRequest | LinkRequest, athlete: Athlete, *, by_link: bool = False) -> HttpResponseBase:
    book, now = book_of(athlete.gym), timezone.now()
    progress = athlete_progress(book, athlete, now)
    step = progress.next.whole.page if progress.next else None
    viewer = Viewer(by_link=by_link, table=request.GET.get("table", ""))
    context = {
        "athlete": athlete,
        "own": request.member is not None and athlete.id == request.member.athlete_id,
        "progress": progress,
        "words": progress_words(book, progress),
        "panels": panels_of(athlete=athlete, step=step, viewer=viewer, now=now),
        "terms": wording.terms_of(book),
    }
    return render_page(request, "skills/progress/progress.html", context)
