"""What athletes practise by themselves: entered by them or by a guardian, taken back within the day."""

from __future__ import annotations

from dataclasses import dataclass
from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.access.records import access_athlete
from athletes.access.rules import ATHLETE, GUARDIAN, MemberRequest, allow
from gymtrack.lib.http import redirect_to, render_page
from skills import telling
from skills.access import access_own_attempt
from skills.forms.own_practice import OwnPracticeForm
from skills.queries.books import Book, StepPage, book_of
from skills.queries.doses import DoseWeek, dose_week
from skills.queries.practice import own_entries
from skills.services.attempts import AlreadyVoidError, AttemptRefusedError, IdTakenError
from skills.services.own_practice import enter_own_practice, take_back_own_practice
from skills.showing.doses import told_week

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.models import Attempt

_STORED = "Entered as own practice."
_PAUSED = "Entered. Every step with the same load is paused until a coach lifts it: stop, and tell a coach."


@dataclass(frozen=True, slots=True)
class OwnLine:
    """An own entry as a row: `undo` says whether it may still be taken back by who looks."""

    id: UUID
    when: str
    step: str
    result: str
    quality: str
    by: str
    taken_back: bool
    undo: bool


@require_http_methods(["GET", "HEAD", "POST"])
@allow(ATHLETE, GUARDIAN)
def own_practice(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show this week's practice and what was entered, and enter own practice of the step that `step` names."""
    athlete = access_athlete(request.member, athlete_id)
    book, now = book_of(athlete.gym), timezone.now()
    week = dose_week(book, athlete, now)
    codes = _enterable(week)
    asked = request.POST.get("step") or request.GET.get("step", "")
    page = book.steps[asked] if asked in book.steps and asked in week.cases else None
    today = now.astimezone(athlete.gym.zone).date()
    form = OwnPracticeForm(page, today, request.POST or None) if page else None
    unknown = bool(asked) and page is None
    if request.method == "POST" and form and form.is_valid() and (stored := _store(request, athlete, form)):
        messages.success(request, _PAUSED if stored.pain else _STORED)
        return redirect_to("own_practice", athlete.id)
    context = {
        "athlete": athlete,
        "own": athlete.id == request.member.athlete_id,
        "panel": told_week(book, athlete, week, viewer_is_staff=False),
        "steps": [book.steps[code] for code in codes],
        "page": page,
        "form": form,
        "unknown": unknown,
        "entries": _lines(request, book, athlete),
    }
    wrong = unknown or bool(form and form.errors)
    status = HTTPStatus.UNPROCESSABLE_ENTITY if wrong else HTTPStatus.OK
    return render_page(request, "skills/doses/own.html", context, status=status)


def _enterable(week: DoseWeek) -> list[str]:
    """Return the codes of the steps that may be practised alone now; the service has the last word."""
    return [code for code in week.may_have if week.cases[code].place == "anywhere"]


def _store(request: MemberRequest, athlete: Athlete, form: OwnPracticeForm) -> Attempt | None:
    try:
        return enter_own_practice(by=request.member, entry=form.entry(athlete.id)).attempt
    except AttemptRefusedError as error:
        form.refuse(*error.mistakes)
    except IdTakenError as error:
        form.add_error(None, str(error))
    return None


def _lines(request: MemberRequest, book: Book, athlete: Athlete) -> list[OwnLine]:
    today = timezone.localdate(timezone=athlete.gym.zone)
    lines = []
    for row in own_entries(athlete, today):
        page: StepPage = book.steps[book.codes[row.step_id]]
        void = hasattr(row, "void")
        fresh = row.recorded_at.astimezone(athlete.gym.zone).date() == today
        day = row.happened_at.astimezone(athlete.gym.zone)
        lines.append(
            OwnLine(
                id=row.id,
                when=f"{day.day} {day:%b}",
                step=telling.step_name(page),
                result=telling.result_words(row, page),
                quality="pain" if row.pain else "",
                by=row.logged_by.person.full_name,
                taken_back=void,
                undo=fresh and not void and row.logged_by_id == request.member.id,
            )
        )
    return lines


@require_POST
@allow(ATHLETE, GUARDIAN)
def own_practice_undo(request: MemberRequest, athlete_id: UUID, attempt_id: UUID) -> HttpResponseBase:
    """Take an own entry back on the day on which it was made."""
    athlete = access_athlete(request.member, athlete_id)
    attempt = access_own_attempt(request.member, athlete, attempt_id)
    try:
        take_back_own_practice(by=request.member, attempt=attempt)
        messages.success(request, "Taken back.")
    except (AttemptRefusedError, AlreadyVoidError) as error:
        messages.info(request, str(error))
    return redirect_to("own_practice", athlete.id)
