"""The log panel: one athlete, one step, one try. A page of its own, and a part of the board for htmx."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.http import Http404, HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from athletes.access.certificates import skills_signed
from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from athletes.core.consents import WORDS, who_decides
from athletes.core.refusal import Refusal
from athletes.queries.consents import Shown, shown_athletes
from athletes.queries.contacts import contacts_of
from athletes.queries.screenings import screening_notice
from gymtrack.lib.http import render_page, see_other, wants_fragment
from gymtrack.lib.ids import new_id
from skills import telling
from skills.access import access_attempt, access_bar, access_session, access_step, may
from skills.core.stops import kinds_asked
from skills.forms.attempts import VOID_REASONS, AttemptForm
from skills.forms.bars import read_setting, settings_of
from skills.forms.sessions import BarCheckForm
from skills.queries import boards, logs
from skills.queries.bars import bars_of, checks_on_day, standing_checks, stands_for
from skills.queries.books import Book, StepPage, book_of
from skills.queries.risk_notes import notes_of
from skills.services import sessions as service
from skills.showing.bars import usual_setting
from skills.views.places import beside_tiles

if TYPE_CHECKING:
    from django.http import QueryDict

    from athletes.models import Athlete, Membership
    from skills.models import Attempt, Bar, BarCheck, TrainingSession


_REP_KEYS = (1, 2, 3, 4, 5, 6, 8, 10)


@require_GET
@allow(*STAFF)
def session_athlete(request: MemberRequest, session_id: UUID, athlete_id: UUID) -> HttpResponse:
    """Show the panel; `step` asks for another step than the one in hand, `logged` names the attempt just stored."""
    session = access_session(request.member, session_id)
    athlete = access_athlete(request.member, athlete_id)
    logged = _logged(request, athlete)
    return panel_page(request, session, athlete, step_id=_asked(request), logged=logged)


def _asked(request: MemberRequest) -> UUID | None:
    asked = request.GET.get("step")
    return access_step(request.member, uuid_or_404(asked)).id if asked else None


def _logged(request: MemberRequest, athlete: Athlete) -> Attempt | None:
    asked = request.GET.get("logged")
    attempt = access_attempt(request.member, uuid_or_404(asked)) if asked else None
    if attempt and attempt.athlete_id != athlete.id:
        raise Http404
    return attempt


def uuid_or_404(text: str) -> UUID:
    """Return the id that a form or an address holds; Http404 for what is none."""
    try:
        return UUID(text)
    except ValueError:
        raise Http404 from None


def panel_page(
    request: MemberRequest,
    session: TrainingSession,
    athlete: Athlete,
    *,
    step_id: UUID | None = None,
    form: AttemptForm | None = None,
    bar_form: BarCheckForm | None = None,
    logged: Attempt | None = None,
    notice: str = "",
    besides: Athlete | None = None,
) -> HttpResponse:
    """Render the panel of an athlete, with a form that went wrong or with what was just stored.

    For htmx on the board it brings the athlete's tile along, as it is now, and that of who was touched besides.
    """
    now, book = timezone.now(), book_of(request.member.gym)
    panel = logs.panel_of(book, session, athlete, now, step_id)
    may_log = may(request.member, "may_log")
    context = {
        "session": session,
        "panel": panel,
        "contacts": contacts_of(athlete),
        "screening": screening_notice(athlete),
        "who": Shown(athlete.id, athlete.number, panel.stops.name),
        "here": panel_address(session, athlete),
        "notice": notice,
        "may_log": may_log,
        **_step_context(request, book, panel),
        **_form_context(request, panel, form, bar_form),
        **_logged_context(book, session, panel, logged or _of_this_class(panel, session), may_log=may_log),
        "just_logged": logged is not None,
    }
    part = context["part"] = wants_fragment(request)
    if part and beside_tiles(request, session.id):
        shown = [boards.tile_of(book, session, who, now) for who in (athlete, besides) if who]
        context["fresh_tiles"] = [telling.tile_words(book, tile) for tile in shown if tile]
    bad = bool(notice or (form and form.errors) or (bar_form and bar_form.errors))
    status = HTTPStatus.UNPROCESSABLE_ENTITY if bad else HTTPStatus.OK
    return render_page(request, "skills/sessions/log.html", context, status=status, fragment="panel")


def _step_context(request: MemberRequest, book: Book, panel: logs.Panel) -> dict[str, Any]:
    """Tell the step in hand, what is missing, and the steps that may be chosen instead."""
    open_steps = [choice for choice in panel.choices if choice.now.base != "closed"]
    closed_steps = [choice for choice in panel.choices if choice.now.base == "closed"]
    skills = {choice.page.skill_slug for choice in closed_steps}
    mine = skills_signed(request.member, skills, timezone.now()) if skills else skills
    context = {
        "open_groups": _by_skill(open_steps),
        "closed_groups": _by_skill([choice for choice in closed_steps if choice.page.skill_slug in mine]),
        "cautions": [telling.caution_words(caution) for caution in panel.cautions],
    }
    if panel.page is None:
        return context
    step = access_step(request.member, panel.page.id)
    return context | {
        "step": step,
        "risk_notes": notes_of(step).notes,
        "step_name": telling.step_name(panel.page),
        "no_consent": panel.stops.words_at(inverted=book.rules.steps[panel.page.code].inverted),
        "consents_wanted": _consents_wanted(book, panel, panel.page),
        "back": telling.back_words(panel.back, panel.page),
        "instead_of": panel.back.instead_of if panel.back else None,
        "missing": telling.missing_words(book, panel.standing),
        "last": telling.last_words(panel.last, panel.page) if panel.last else "",
        "last_cues": telling.cues_of(panel.last, panel.page) if panel.last else [],
    }


def _consents_wanted(book: Book, panel: logs.Panel, page: StepPage) -> list[tuple[str, str]]:
    """Return the consents for want of which the step is stopped, each with its words and who gives it."""
    clearance = panel.standing.now.clearance if panel.standing else ""
    asked = kinds_asked(inverted=book.rules.steps[page.code].inverted, clearance=clearance)
    standing = panel.athlete.standing()
    return [
        (kind, f"{_SAYS[who_decides(kind, standing)]} agrees to {WORDS[kind]}")
        for kind in asked
        if kind in panel.stops.lacking
    ]


_SAYS = {"guardian": "A guardian", "athlete": "The athlete"}


def _by_skill(choices: list[logs.Choice]) -> list[tuple[str, list[logs.Choice]]]:
    groups: dict[str, list[logs.Choice]] = {}
    for choice in choices:
        groups.setdefault(choice.page.skill_name, []).append(choice)
    return list(groups.items())


def _form_context(
    request: MemberRequest, panel: logs.Panel, form: AttemptForm | None, bar_form: BarCheckForm | None
) -> dict[str, Any]:
    """Give the form that the moment asks for: none, the check of a low bar, or that of an attempt."""
    if panel.page is None or not may(request.member, "may_log"):
        return {}
    if panel.stopped and form is None:
        return {}
    again = panel.page.form.low_bar_check and "check" in request.GET
    if (panel.bar_unchecked or again or bar_form) and form is None:
        return _bar_context(request, panel.athlete, bar_form)
    if panel.paused and form is None:
        return {}
    shown = form or fresh_form(panel.page, panel)
    shown.fields["closed_reason"].required = panel.closed
    with_words = telling.with_words(shown["assistance"].value(), shown["variant"].value(), panel.page)
    return {"form": shown, "rep_keys": _REP_KEYS, "with_words": with_words}


def _bar_context(request: MemberRequest, athlete: Athlete, form: BarCheckForm | None) -> dict[str, Any]:
    """Give the form of a check, at the hole that suits the athlete where their heights are known."""
    if form is None:
        usual = {"athlete": athlete.id, "setting": usual_setting(athlete, _low_bars(request.member), timezone.now())}
        form = _bar_form(request, initial=usual)
    return {"bar_form": form, "bars": logs.bars_checked_before(request.member.gym)}


def _bar_form(
    request: MemberRequest, data: QueryDict | None = None, initial: dict[str, Any] | None = None
) -> BarCheckForm:
    settings = settings_of(_low_bars(request.member), request.member.gym.units)
    return BarCheckForm(data, initial, settings=settings)


def _low_bars(member: Membership) -> list[Bar]:
    return [bar for bar in bars_of(member.gym) if stands_for(bar, "low")]


def checks_for(page: StepPage, athlete: Athlete) -> Sequence[BarCheck]:
    """Return the checks of low bars that stand today, where the step asks for one."""
    return standing_checks(checks_on_day(athlete.gym, timezone.now())) if page.form.low_bar_check else ()


def fresh_form(page: StepPage, panel: logs.Panel) -> AttemptForm:
    """Return an empty form with a new id for the attempt; help and form of the last judged try are remembered."""
    before = panel.remembered or panel.last
    remembered = {"assistance": before.assistance, "variant": before.variant} if before else {}
    initial = {
        "id": new_id(),
        "athlete": panel.athlete.id,
        "step": page.id,
        "assistance": "none",
        "variant": "",
        "grade": "0",
        "source": "judged",
        "effort": "",
        "pain_where": "",
        "pain_side": "",
        "reps": 1 if page.form.is_hold else None,
        **remembered,
    }
    return AttemptForm(page, initial=initial, checks=panel.checks)


def _of_this_class(panel: logs.Panel, session: TrainingSession) -> Attempt | None:
    """Return the last try of this class, which can be corrected until it has ended and after."""
    return panel.last if panel.last and panel.last.session_id == session.id else None


def _logged_context(
    book: Book, session: TrainingSession, panel: logs.Panel, attempt: Attempt | None, *, may_log: bool
) -> dict[str, Any]:
    """Tell what was stored, the cue that mends it, and what it passed, opened or made ready."""
    if attempt is None:
        return {}
    page = book.steps[book.codes[attempt.step_id]]
    news = logs.news_of(book, attempt, panel.choices)
    return {
        "logged": attempt,
        "logged_words": telling.stored_words(attempt, page),
        "logged_step": telling.step_name(page),
        "cues": telling.cues_of(attempt, page),
        "news": [*telling.news_words(news)],
        "waiting": [(telling.step_name(step), telling.GATES[gate], step.id, gate) for step, gate in news.waiting],
        "void_reasons": VOID_REASONS,
        **_correction_context(session, panel, attempt, page, may_log=may_log),
    }


def _correction_context(
    session: TrainingSession, panel: logs.Panel, attempt: Attempt, page: StepPage, *, may_log: bool
) -> dict[str, Any]:
    """Offer the words that are not on the attempt yet, and the others present for whom it may have been."""
    present = boards.attendances_of(session)
    return {
        "mendable": may_log and not getattr(attempt, "void", None),
        "new_id": new_id(),
        "more_faults": [fault for fault in page.faults if fault[0] not in attempt.faults],
        "more_missed": [checkpoint for checkpoint in page.checkpoints if checkpoint[0] not in attempt.missed],
        "dangerous": panel.dangerous if panel.page == page else logs.dangerous_faults(page.id),
        "angle_of": page.form.angle,
        "others": shown_athletes(
            [row.athlete for row in present if row.athlete_id != panel.athlete.id], timezone.now()
        ),
    }


@require_POST
@allow(OWNER, COACH, right="may_log")
def session_step(request: MemberRequest, session_id: UUID, athlete_id: UUID) -> HttpResponseBase:
    """Put another open step into an athlete's hand for this session."""
    session = access_session(request.member, session_id)
    athlete = access_athlete(request.member, athlete_id)
    step = access_step(request.member, uuid_or_404(request.POST.get("step", "")))
    try:
        attendance = service.mark_present(by=request.member, session=session, athlete=athlete)
        service.choose_step(by=request.member, attendance=attendance, step=step)
    except (service.SessionEndedError, service.StepClosedError) as error:
        return panel_page(request, session, athlete, notice=str(error))
    return _to_panel(request, session, athlete)


@require_POST
@allow(OWNER, COACH, right="may_log")
def bar_check(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Record that a low bar was looked over, and go on to the athlete who was about to use it."""
    session = access_session(request.member, session_id)
    form = _bar_form(request, request.POST)
    athlete = access_athlete(request.member, uuid_or_404(request.POST.get("athlete", "")))
    if not form.is_valid():
        return panel_page(request, session, athlete, bar_form=form)
    bar_id, hole = read_setting(chosen) if (chosen := form.cleaned_data.get("setting")) else (None, None)
    of = access_bar(request.member, bar_id) if bar_id else None
    try:
        service.check_bar(by=request.member, session=session, bar=form.cleaned_data["bar"], of=of, hole=hole)
    except service.NoSuchHoleError as error:
        form.add_error("setting", str(error))
        return panel_page(request, session, athlete, bar_form=form)
    except Refusal as refusal:
        form.add_error("bar", str(refusal))
        return panel_page(request, session, athlete, bar_form=form)
    return _to_panel(request, session, athlete)


def _to_panel(request: MemberRequest, session: TrainingSession, athlete: Athlete) -> HttpResponseBase:
    if wants_fragment(request):
        return panel_page(request, session, athlete)
    return see_other(panel_address(session, athlete))


def panel_address(session: TrainingSession, athlete: Athlete, query: str = "") -> str:
    """Return where the panel of an athlete stands, with a query such as 'logged=…'."""
    address = reverse("session_athlete", args=[session.id, athlete.id])
    return f"{address}?{query}" if query else address
