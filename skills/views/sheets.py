"""An athlete's progress as a PDF, to be printed and hung up; its code leads to the live page, by its usual doors."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import EVERYBODY, LinkRequest, MemberRequest, allow, allow_link
from athletes.queries.consents import reported_names, shown_names
from gymtrack.lib.http import kept_nowhere, redirect_to
from gymtrack.lib.pdf import make_pdf
from skills.queries.books import book_of
from skills.queries.progress import athlete_progress
from skills.showing.progress_panels import Viewer, panels_of
from skills.showing.progress_sheet import progress_sheet
from skills.showing.sheet import sheet_values

if TYPE_CHECKING:
    from athletes.models import Athlete

TEMPLATE: Final = settings.BASE_DIR / "templates" / "skills" / "progress" / "sheet.typ"


@require_safe
@allow(*EVERYBODY)
def progress_pdf(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Give the sheet of somebody in sight: to staff, to guardians of their ward, to athletes of themselves."""
    athlete = access_athlete(request.member, athlete_id)
    name = _name_on_paper(athlete)
    address = request.build_absolute_uri(reverse("progress_of", args=[athlete.id]))
    return _sheet(athlete, name=name, address=address, by_link=False)


@require_safe
@allow_link
def linked_pdf(request: LinkRequest) -> HttpResponseBase:
    """Give the same by a private link: by number alone, and with no token in the code."""
    if request.link is None:
        return redirect_to("my_progress")
    return _sheet(request.link.athlete, name="", address=request.build_absolute_uri(reverse("linked")), by_link=True)


def _name_on_paper(athlete: Athlete) -> str:
    """Return the name as far as it may stand in what is printed, and on a wall, where everybody reads along."""
    now = timezone.now()
    shown = shown_names([athlete], now)[athlete.id]
    # Who stands there by number alone stands so on paper; by the whole name where both was agreed to.
    return reported_names([athlete], now)[athlete.id] if shown == athlete.person.full_name else shown


def _sheet(athlete: Athlete, *, name: str, address: str, by_link: bool) -> HttpResponse:
    book, now = book_of(athlete.gym), timezone.now()
    progress = athlete_progress(book, athlete, now)
    step = progress.next.whole.page if progress.next else None
    # As by a link: paper is handed on, so it has no figure that a mass can be worked out of.
    panels = panels_of(athlete=athlete, step=step, viewer=Viewer(by_link=True), now=now)
    sheet = progress_sheet(book, athlete, progress, panels, name=name, address=address, by_link=by_link, now=now)
    answer = HttpResponse(make_pdf(TEMPLATE, sheet_values(sheet)).content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="progress-{athlete.number}.pdf"'
    return kept_nowhere(answer)
