"""Running a class: start it, the board, who is here, end it."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.access.records import access_athlete, practising_athletes
from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from athletes.queries.consents import shown_athletes
from gymtrack.lib.http import redirect_to, render_page, see_other, wants_fragment
from skills.access import access_session, access_step, may
from skills.forms.sessions import StartForm
from skills.queries import boards
from skills.queries.books import book_of
from skills.services import sessions as service
from skills.telling import tile_words
from skills.views.class_runs import strip_context
from skills.views.panels import uuid_or_404
from skills.views.places import beside_tiles
from skills.views.today import today_page

if TYPE_CHECKING:
    from skills.models import TrainingSession


@require_POST
@allow(OWNER, COACH, right="may_log")
def session_start(request: MemberRequest) -> HttpResponseBase:
    """Start a session and go to its board."""
    form = StartForm(book_of(request.member.gym), request.POST)
    if not form.is_valid():
        return today_page(request, form, HTTPStatus.UNPROCESSABLE_ENTITY)
    focus = access_step(request.member, form.focus_id) if form.focus_id else None
    said = form.cleaned_data
    session = service.start_session(by=request.member, name=said["name"], focus=focus, session_id=said["id"])
    return redirect_to("session", session.id)


@require_GET
@allow(*STAFF)
def session(request: MemberRequest, session_id: UUID) -> HttpResponse:
    """Show the board, and the roster beside it."""
    found = access_session(request.member, session_id)
    board = _board(request, found)
    strip = strip_context(found, may_log=board["may_log"])
    return render_page(request, "skills/sessions/board.html", board | _roster(request, found) | strip)


def _board(request: MemberRequest, session: TrainingSession) -> dict[str, Any]:
    book = book_of(request.member.gym)
    tiles = [tile_words(book, tile) for tile in boards.board_of(book, session, timezone.now())]
    return {"session": session, "tiles": tiles, "may_log": may(request.member, "may_log")}


def _roster(request: MemberRequest, session: TrainingSession) -> dict[str, Any]:
    """Tell the roster, last time's people first; with `q` only those whose number or name has it."""
    now, here, usual = timezone.now(), boards.present_ids(session), boards.usual_ids(session)
    wanted = request.GET.get("q", "").strip().casefold()
    rows = [
        {"athlete": athlete, "here": athlete.id in here, "usual": athlete.id in usual}
        for athlete in shown_athletes(practising_athletes(request.member, now), now)
        if wanted in f"{athlete.number} {athlete.name}".casefold()
    ]
    rows.sort(key=lambda row: not row["usual"])
    absent = sum(1 for row in rows if row["usual"] and not row["here"])
    return {"rows": rows, "q": request.GET.get("q", ""), "usual_absent": absent, "here_count": len(here)}


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def session_present(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Show the roster, or mark on it who is here, who is not, or that all of last time's are."""
    found = access_session(request.member, session_id)
    if request.method != "POST":
        context = _roster(request, found) | {"session": found, "may_log": True}
        return render_page(request, "skills/sessions/present.html", context, fragment="panel")
    try:
        _mark(request, found)
    except service.SessionEndedError as error:
        messages.error(request, str(error))
    if not wants_fragment(request):
        return see_other(f"{reverse('session', args=[found.id])}#panel")
    context = _roster(request, found) | _board(request, found) | {"beside_tiles": beside_tiles(request, found.id)}
    return render_page(request, "skills/sessions/present.html", context, fragment="marked")


def _mark(request: MemberRequest, session: TrainingSession) -> None:
    """Do what the tapped button says: `here` or `gone` with an athlete's id, or `usual`."""
    acts: dict[str, Callable[..., object]] = {"here": service.mark_present, "gone": service.unmark_present}
    for name, act in acts.items():
        if request.POST.get(name):
            athlete = access_athlete(request.member, uuid_or_404(request.POST[name]))
            act(by=request.member, session=session, athlete=athlete)
    if "usual" in request.POST:
        usual = boards.usual_ids(session)
        for athlete in practising_athletes(request.member, timezone.now()):
            if athlete.id in usual:
                service.mark_present(by=request.member, session=session, athlete=athlete)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def session_end(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Ask once, naming those without an entry; then end the session."""
    found = access_session(request.member, session_id)
    if request.method == "POST":
        service.end_session(by=request.member, session=found)
        messages.success(request, f"{found.name} has ended.")
        return redirect_to("today")
    return render_page(
        request,
        "skills/sessions/end.html",
        {"session": found, "nothing_logged": shown_athletes(boards.without_attempt(found), timezone.now())},
    )
