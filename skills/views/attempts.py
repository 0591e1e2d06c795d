"""Logging an attempt on the board's panel, and taking one back."""

from __future__ import annotations

from datetime import datetime
from http import HTTPStatus
from typing import TYPE_CHECKING, TypeVar
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_POST

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, MemberRequest, allow
from gymtrack.lib.http import render_page, see_other, wants_fragment
from skills.access import access_attempt, access_session
from skills.forms.attempts import VOID_REASONS, AttemptForm, VoidForm
from skills.queries.books import book_of
from skills.queries.logs import stored_attempt
from skills.services import attempts as service
from skills.views.panels import checks_for, panel_address, panel_page, uuid_or_404
from skills.views.places import came_from

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.models import Attempt, TrainingSession

R = TypeVar("R", bound=HttpResponseBase)


@require_POST
@allow(OWNER, COACH, right="may_log")
def attempt_log(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Store an attempt and show the panel again: with what it did, or with everything typed and what is wrong."""
    session = access_session(request.member, session_id)
    athlete = access_athlete(request.member, uuid_or_404(request.POST.get("athlete", "")))
    page = book_of(request.member.gym).step(uuid_or_404(request.POST.get("step", "")))
    if page is None:
        raise Http404
    form = AttemptForm(page, request.POST, checks=checks_for(page, athlete))
    if not form.is_valid():
        return panel_page(request, session, athlete, step_id=page.id, form=form)
    try:
        attempt = _store(request, session, form).attempt
    except service.AttemptRefusedError as error:
        form.refuse(*error.mistakes)
        return panel_page(request, session, athlete, step_id=page.id, form=form)
    except service.IdTakenError as error:
        return _tell_taken(request, session, athlete, form, f"{error} What is stored can be corrected below.")
    if wants_fragment(request):
        return receipt_for(attempt, panel_page(request, session, athlete, logged=attempt))
    return see_other(panel_address(session, athlete, f"logged={attempt.id}"))


def _tell_taken(
    request: MemberRequest, session: TrainingSession, athlete: Athlete, form: AttemptForm, notice: str
) -> HttpResponseBase:
    """Show what the id stands for where it is this athlete's, such as a try whose answer was lost on its way."""
    stored = stored_attempt(request.member.gym, form.cleaned_data["id"])
    if stored is None or stored.athlete_id != athlete.id:
        return panel_page(request, session, athlete, step_id=form.page.id, notice=notice)
    shown = access_attempt(request.member, stored.id)
    return receipt_for(shown, panel_page(request, session, athlete, logged=shown, notice=notice))


def receipt_for(attempt: Attempt, response: R) -> R:
    """Name the stored attempt in the answer: only this tells the device that it need not keep it any longer."""
    response["Receipt"] = str(attempt.id)
    return response


def _store(request: MemberRequest, session: TrainingSession, form: AttemptForm) -> service.Logged:
    """Log the attempt as of now; a form that comes a second time means the moment of the first."""
    entry = form.entry(session_id=session.id, happened_at=_moment(request, form) or timezone.now())
    try:
        return service.log_attempt(by=request.member, entry=entry)
    except service.IdTakenError:
        # The first sending of a form that was sent twice may have been stored since the look-up above.
        first_at = _moment(request, form)
        if first_at is None or first_at == entry.happened_at:
            raise
        again = form.entry(session_id=session.id, happened_at=first_at)
        return service.log_attempt(by=request.member, entry=again)


def _moment(request: MemberRequest, form: AttemptForm) -> datetime | None:
    stored = stored_attempt(request.member.gym, form.cleaned_data["id"])
    return stored.happened_at if stored else None


@require_POST
@allow(OWNER, COACH, right="may_log")
def attempt_void(request: MemberRequest, attempt_id: UUID) -> HttpResponseBase:
    """Take an attempt back with a reason, and go back to where it was tapped."""
    attempt = access_attempt(request.member, attempt_id)
    form = VoidForm(request.POST)
    if not form.is_valid():
        context = {
            "form": form,
            "attempt": attempt,
            "void_reasons": VOID_REASONS,
            "back": came_from(request, "athlete", attempt.athlete_id),
            "session_id": request.POST.get("session"),
        }
        status = HTTPStatus.UNPROCESSABLE_ENTITY
        return render_page(request, "skills/sessions/void.html", context, status=status, fragment="panel")
    try:
        service.void_attempt(by=request.member, attempt=attempt, reason=form.reason)
        messages.success(request, "Taken back. It stays in the history with the reason.")
    except service.AlreadyVoidError as error:
        messages.info(request, str(error))
    session_id = request.POST.get("session")
    if session_id and wants_fragment(request):
        return panel_page(request, access_session(request.member, uuid_or_404(session_id)), attempt.athlete)
    return see_other(came_from(request, "athlete", attempt.athlete_id))
