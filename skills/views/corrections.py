"""Correcting an attempt on the board: a word more on it, or another athlete."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_POST

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, MemberRequest, allow
from athletes.queries.consents import shown_athletes
from gymtrack.lib.http import render_page, see_other, wants_fragment
from skills import telling
from skills.access import access_attempt, access_session
from skills.forms.corrections import MendForm, MoveForm
from skills.queries import logs
from skills.queries.books import book_of
from skills.services import corrections
from skills.services.attempts import AlreadyVoidError, AttemptRefusedError, IdTakenError, Logged
from skills.views.attempts import receipt_for
from skills.views.panels import panel_address, panel_page, uuid_or_404
from skills.views.places import came_from

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.models import Attempt, TrainingSession
    from skills.queries.books import StepPage


@require_POST
@allow(OWNER, COACH, right="may_log")
def attempt_mend(request: MemberRequest, attempt_id: UUID) -> HttpResponseBase:
    """Enter an attempt again with a word more on it, and show the panel with the mended one."""
    attempt = access_attempt(request.member, attempt_id)
    session = _session(request)
    if session is None:
        return _elsewhere(request, attempt)
    form = MendForm(request.POST)
    if not form.is_valid():
        words = " ".join(str(sentence) for sentences in form.errors.values() for sentence in sentences)
        return panel_page(request, session, attempt.athlete, logged=attempt, notice=words)
    try:
        logged = _mend(request, attempt, form)
    except (AttemptRefusedError, AlreadyVoidError, IdTakenError) as error:
        return panel_page(request, session, attempt.athlete, notice=str(error))
    return _show(request, session, logged.attempt, attempt.athlete)


def _session(request: MemberRequest) -> TrainingSession | None:
    """Return the session on whose board this is done."""
    asked = request.POST.get("session")
    return access_session(request.member, uuid_or_404(asked)) if asked else None


def _elsewhere(request: MemberRequest, attempt: Attempt) -> HttpResponseBase:
    messages.error(request, "Attempts are corrected on the board of a class. Nothing was changed.")
    return see_other(came_from(request, "athlete", attempt.athlete_id))


def _mend(request: MemberRequest, attempt: Attempt, form: MendForm) -> Logged:
    result = form.mended(corrections.result_of(attempt))
    new_id = form.cleaned_data["id"]
    reason = corrections.READ_ON_STILL if form.is_read_on_still else corrections.MENDED
    return corrections.mend_attempt(by=request.member, attempt=attempt, new_id=new_id, result=result, reason=reason)


@require_POST
@allow(OWNER, COACH, right="may_log")
def attempt_move(request: MemberRequest, attempt_id: UUID) -> HttpResponseBase:
    """Enter an attempt again for another athlete, at a step of theirs, and show that athlete's panel.

    Where no step fits that is open to them it asks for a reason, as for every try at a closed step.
    """
    attempt = access_attempt(request.member, attempt_id)
    session = _session(request)
    if session is None:
        return _elsewhere(request, attempt)
    athlete = access_athlete(request.member, uuid_or_404(request.POST.get("athlete", "")))
    form = MoveForm(request.POST)
    if not form.is_valid():
        return panel_page(request, session, attempt.athlete, logged=attempt, notice="Choose the athlete once more.")
    page = _step_of(request, session, athlete, attempt)
    said = form.cleaned_data
    try:
        logged = corrections.move_attempt(
            by=request.member,
            attempt=attempt,
            new_id=said["id"],
            athlete=athlete,
            step_id=page.id,
            closed_reason=said["closed_reason"],
        )
    except AttemptRefusedError as error:
        if [mistake.field for mistake in error.mistakes] == ["closed_reason"]:
            return _ask_why(request, session, attempt, form, page)
        return panel_page(request, session, attempt.athlete, logged=attempt, notice=f"{error} Nothing was changed.")
    except (AlreadyVoidError, IdTakenError) as error:
        return panel_page(request, session, attempt.athlete, notice=str(error))
    messages.success(request, _moved_words(attempt, athlete, page))
    return _show(request, session, logged.attempt, athlete, besides=attempt.athlete)


def _step_of(request: MemberRequest, session: TrainingSession, athlete: Athlete, attempt: Attempt) -> StepPage:
    book, result = book_of(request.member.gym), corrections.result_of(attempt)
    return logs.step_to_move_to(book, session, athlete, attempt=attempt, result=result, now=timezone.now())


def _ask_why(
    request: MemberRequest, session: TrainingSession, attempt: Attempt, form: MoveForm, page: StepPage
) -> HttpResponseBase:
    context = {
        "form": form,
        "attempt": attempt,
        "athlete": shown_athletes([access_athlete(request.member, form.cleaned_data["athlete"])], timezone.now())[0],
        "session": session,
        "step_name": telling.step_name(page),
        "stored": telling.stored_words(attempt, page),
        "back": panel_address(session, attempt.athlete, f"logged={attempt.id}"),
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY
    return render_page(request, "skills/sessions/move.html", context, status=status, fragment="panel")


def _moved_words(attempt: Attempt, athlete: Athlete, page: StepPage) -> str:
    words = f"Taken back from {_who(attempt.athlete)} and entered for {_who(athlete)}"
    words += f", at the step in hand: {telling.step_name(page)}." if page.id != attempt.step_id else "."
    return (
        f"{words} The caution for pain stays on {_who(attempt.athlete)} until it is lifted." if attempt.pain else words
    )


def _who(athlete: Athlete) -> str:
    return shown_athletes([athlete], timezone.now())[0].label


def _show(
    request: MemberRequest,
    session: TrainingSession,
    attempt: Attempt,
    athlete: Athlete,
    *,
    besides: Athlete | None = None,
) -> HttpResponseBase:
    if wants_fragment(request):
        return receipt_for(attempt, panel_page(request, session, athlete, logged=attempt, besides=besides))
    return see_other(panel_address(session, athlete, f"logged={attempt.id}"))
