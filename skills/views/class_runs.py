"""Running a class by its plan: the wall that everybody reads, a tap on the clock of rotations, a sheet of paper."""

from __future__ import annotations

import hashlib
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, Final
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase, HttpResponseNotModified
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import parse_etags
from django.views.decorators.http import require_http_methods, require_safe

from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from gymtrack.lib.http import kept_nowhere, redirect_to, render_page, wants_fragment
from gymtrack.lib.ids import new_id
from gymtrack.lib.pdf import make_pdf
from skills.access import access_session
from skills.queries.boards import board_of, present_ids
from skills.queries.books import book_of
from skills.queries.class_runs import run_now, run_of
from skills.queries.floor import stamp_of
from skills.services.class_runs import MarkIdTakenError, NoSuchRotationError, NotPlannedError, mark_rotation
from skills.services.sessions import SessionEndedError
from skills.showing.class_runs import strip_of, walls_of
from skills.showing.plan_sheet import plan_sheet
from skills.telling import tile_words
from skills.views.panels import uuid_or_404

if TYPE_CHECKING:
    from skills.models import TrainingSession

SHEET: Final = settings.BASE_DIR / "templates" / "skills" / "class_runs" / "sheet.typ"


# ---- The wall -----------------------------------------------------------------------------------------------


@require_safe
@allow(*STAFF)
def class_wall(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Show who is where to everybody in the hall; the same again is not sent twice (RFC 9110, 13.1.2)."""
    session, now = access_session(request.member, session_id), timezone.now()
    run = run_now(session, now)
    # The stamp is from before the reading: what is stored meanwhile comes with the next answer.
    tag = _tag(stamp_of(session.gym, now), run.clock.rotation if run else None)
    if tag in (found.removeprefix("W/") for found in parse_etags(request.headers.get("If-None-Match", ""))):
        answer: HttpResponseBase = HttpResponseNotModified()
    else:
        walls = walls_of(book_of(session.gym), session, run, now) if run else []
        answer = render(request, "skills/class_runs/wall.html", {"session": session, "walls": walls, "now": now})
    answer["ETag"] = tag
    return kept_nowhere(answer)


def _tag(stamp: str, rotation: int | None) -> str:
    return f'"{hashlib.sha256(f"{stamp} {rotation}".encode()).hexdigest()[:16]}"'


# ---- The desk -----------------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def class_rotation(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Begin a rotation now; or tell anew where the class is, for a board that asks now and then."""
    session = access_session(request.member, session_id)
    if request.method == "POST":
        _mark(request, session)
    if not wants_fragment(request):
        return redirect_to("session", session.id)
    context = strip_context(session, may_log=True)
    strip = context["strip"]
    if request.method != "POST" and strip and strip.key == request.GET.get("seen"):
        return kept_nowhere(HttpResponse(status=HTTPStatus.NO_CONTENT))  # nothing moves beneath a finger
    book = book_of(session.gym)
    context["tiles"] = [tile_words(book, tile) for tile in board_of(book, session, timezone.now())]
    return render_page(request, "skills/class_runs/turned.html", {"session": session, **context})


def _mark(request: MemberRequest, session: TrainingSession) -> None:
    rotation, mark_id = request.POST.get("rotation", ""), request.POST.get("id", "")
    if not rotation.isdecimal() or len(rotation) > len("999"):
        messages.error(request, "Choose one of the plan’s rotations: nothing was begun.")
        return
    try:
        mark_rotation(
            by=request.member,
            session=session,
            rotation=int(rotation),
            mark_id=uuid_or_404(mark_id) if mark_id else None,
        )
    except (NotPlannedError, NoSuchRotationError, SessionEndedError, MarkIdTakenError) as error:
        messages.error(request, str(error))


def strip_context(session: TrainingSession, *, may_log: bool) -> dict[str, Any]:
    """Tell where a class is in its plan, above its board; nothing where it has none."""
    run = run_now(session, timezone.now())
    strip = strip_of(run, present_ids(session)) if run else None
    return {"strip": strip, "marks": may_log and not session.ended_at, "mark_id": new_id()}


# ---- Paper --------------------------------------------------------------------------------------------------


@require_safe
@allow(*STAFF)
def class_plan_pdf(request: MemberRequest, session_id: UUID) -> HttpResponse:
    """Give the plan of a class on one sheet of A4; there is none of a class without a plan."""
    session, now = access_session(request.member, session_id), timezone.now()
    run = run_of(session, now)
    if run is None:
        raise Http404
    values = plan_sheet(book_of(session.gym), session, run, now)
    answer = HttpResponse(make_pdf(SHEET, values).content, content_type="application/pdf")
    answer["Content-Disposition"] = 'inline; filename="class-plan.pdf"'
    return kept_nowhere(answer)
