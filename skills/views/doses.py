"""This week's practice of an athlete, as coaches see and change it."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from gymtrack.lib.http import redirect_to, render_page
from skills.access import may
from skills.forms.doses import BACK, SKIP, DoseForm
from skills.queries.books import StepPage, book_of
from skills.queries.doses import DoseWeek, dose_week
from skills.services.doses import DoseRefusedError, change_dose
from skills.showing.doses import told_week

if TYPE_CHECKING:
    from athletes.models import Athlete

_DONE = {
    SKIP: "Not this week: the step has no dose until Monday.",
    BACK: "Taken back: the dose is worked out again.",
}
_SET = "The dose stands for this week, with your name."


@require_safe
@allow(*STAFF)
def doses(request: MemberRequest, athlete_id: UUID) -> HttpResponse:
    """Show the week of an athlete with why, and which other steps may get a dose."""
    athlete = access_athlete(request.member, athlete_id)
    book = book_of(athlete.gym)
    week = dose_week(book, athlete, timezone.now())
    told = told_week(book, athlete, week, viewer_is_staff=True)
    dosed = {line.code for line in told.lines}
    context = {
        "athlete": athlete,
        "panel": told,
        "others": [book.steps[code] for code in week.may_have if code not in dosed],
        "may_log": may(request.member, "may_log"),
    }
    return render_page(request, "skills/doses/doses.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def dose_change(request: MemberRequest, athlete_id: UUID, code: str) -> HttpResponseBase:
    """Change the dose of one step for this week, leave it out, or take a change back."""
    athlete = access_athlete(request.member, athlete_id)
    book = book_of(athlete.gym)
    page, week = book.steps.get(code), dose_week(book, athlete, timezone.now())
    if page is None or code not in week.cases:
        raise Http404
    case = week.cases[code]
    if request.method != "POST":
        return _form_page(request, athlete, page, week, DoseForm(case, initial=_initial(week, code)))
    form = DoseForm(case, request.POST)
    if form.is_valid():
        try:
            change_dose(by=request.member, athlete=athlete, step=page, order=form.as_order())
        except DoseRefusedError as error:
            form.refuse(*error.mistakes)
        else:
            messages.success(request, _DONE.get(form.cleaned_data["what"], _SET))
            return redirect_to("doses", athlete.id)
    return _form_page(request, athlete, page, week, form)


def _initial(week: DoseWeek, code: str) -> dict[str, object]:
    dose = next((dose for dose in week.plan.doses if dose.code == code), None)
    return DoseForm.initial_of(dose.portion if dose else week.cases[code].own, week.week_on)


def _form_page(
    request: MemberRequest, athlete: Athlete, page: StepPage, week: DoseWeek, form: DoseForm
) -> HttpResponse:
    told = told_week(book_of(athlete.gym), athlete, week, viewer_is_staff=True)
    context = {
        "athlete": athlete,
        "page": page,
        "form": form,
        "line": next((line for line in told.lines if line.code == page.code), None),
        "panel": told,
        "changed": page.code in week.changes,
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK
    return render_page(request, "skills/doses/change.html", context, status=status)
