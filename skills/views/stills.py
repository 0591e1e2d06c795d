"""The angle of a stored attempt, read on a still picture that stays on the device, or typed."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.access.rules import COACH, OWNER, MemberRequest, allow
from athletes.queries.consents import shown_athletes
from gymtrack.lib.http import render_page, see_other
from gymtrack.lib.ids import new_id
from skills import telling
from skills.access import access_attempt
from skills.forms.corrections import AngleForm
from skills.queries.books import book_of
from skills.services import corrections
from skills.services.attempts import AlreadyVoidError, AttemptRefusedError, IdTakenError
from skills.views.places import came_from

if TYPE_CHECKING:
    from skills.models import Attempt
    from skills.queries.books import StepPage


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def attempt_angle(request: MemberRequest, attempt_id: UUID) -> HttpResponseBase:
    """Show the reader of angles beside the attempt; a POST enters the attempt again with its angle."""
    attempt = access_attempt(request.member, attempt_id)
    page = _page_of(attempt)
    if request.method != "POST":
        return _show(request, attempt, page, _fresh(page, attempt))
    form = AngleForm(page.form.angle, request.POST)
    if not form.is_valid():
        return _show(request, attempt, page, form)
    if form.cleaned_data["angle"] == attempt.angle_degrees:
        messages.info(request, f"It stands at {attempt.angle_degrees}° already.")
        return see_other(came_from(request, "athlete", attempt.athlete_id))
    try:
        _enter(request, attempt, form)
    except (AttemptRefusedError, AlreadyVoidError, IdTakenError) as error:
        form.add_error(None, str(error))
        return _show(request, attempt, page, form)
    messages.success(request, f"Stored: {form.cleaned_data['angle']}°. The try was entered again with its angle.")
    return see_other(came_from(request, "athlete", attempt.athlete_id))


def _page_of(attempt: Attempt) -> StepPage:
    book = book_of(attempt.athlete.gym)
    return book.steps[book.codes[attempt.step_id]]


def _fresh(page: StepPage, attempt: Attempt) -> AngleForm:
    return AngleForm(page.form.angle, initial={"id": new_id(), "angle": attempt.angle_degrees})


def _enter(request: MemberRequest, attempt: Attempt, form: AngleForm) -> None:
    corrections.mend_attempt(
        by=request.member,
        attempt=attempt,
        new_id=form.cleaned_data["id"],
        result=form.measured(corrections.result_of(attempt)),
        reason=corrections.READ_ON_STILL if form.is_read_on_still else corrections.MENDED,
    )


def _show(request: MemberRequest, attempt: Attempt, page: StepPage, form: AngleForm) -> HttpResponseBase:
    context = {
        "attempt": attempt,
        "who": shown_athletes([attempt.athlete], timezone.now())[0],
        "form": form,
        "angle_of": page.form.angle,
        "stored": telling.stored_words(attempt, page),
        "step_name": telling.step_name(page),
        "is_taken_back": getattr(attempt, "void", None) is not None,
        "back": came_from(request, "athlete", attempt.athlete_id),
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK
    return render_page(request, "skills/stills/angle.html", context, status=status)
