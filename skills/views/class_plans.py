"""The plan of a class: looking at it, having it made, and moving people in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from gymtrack.lib.http import render_page, see_other
from skills.access import access_session, may
from skills.core.class_shape import Words
from skills.core.rotation.asks import Pin
from skills.forms.class_plans import PlanForm, first_values, read_words, said_fields
from skills.forms.plan_moves import Desk, clash_moves, moves_of
from skills.queries.books import book_of
from skills.queries.class_asks import words_of
from skills.queries.class_runs import run_of
from skills.queries.kept_plans import last_shape_of
from skills.services import class_plans as service
from skills.services.planning import ClashingRulesError, NoPlanInTimeError, PlannerBusyError
from skills.services.sessions import SessionEndedError
from skills.showing.class_plans import names_in, shown_plan
from skills.showing.plan_news import plan_news
from skills.showing.plan_words import CAUTIONS, rule_words

if TYPE_CHECKING:
    from skills.core.rotation.clashes import Rule
    from skills.models import TrainingSession
    from skills.queries.class_runs import ClassRun
    from skills.queries.kept_plans import WholePlan
    from skills.showing.class_plans import Names


@dataclass(frozen=True, slots=True)
class _Table:
    """What lies before who plans: the class as it is run, what stands in the form at first, what was said."""

    session: TrainingSession
    run: ClassRun | None
    values: Mapping[str, Any]
    words: Words

    @property
    def whole(self) -> WholePlan | None:
        """The plans that were made."""
        return self.run.whole if self.run else None

    def form(self, data: Mapping[str, Any] | None = None) -> PlanForm:
        rotations = self.whole.rotations if self.whole else 0
        return PlanForm(data, initial=self.values, rotations=rotations, planned=self.whole is not None)


def _table(request: MemberRequest, session_id: UUID) -> _Table:
    session = access_session(request.member, session_id)
    run = run_of(session, timezone.now())
    whole = run.whole if run else None
    values = first_values(request.member, whole, last_shape_of(session), _next(run) if run else 0)
    return _Table(session, run, values, words_of(whole) if whole else Words())


def _next(run: ClassRun) -> int:
    """Return the rotation from which a class is planned again: the next one, the last one while it runs."""
    return 0 if run.clock.is_over else min(run.clock.rotation + 1, run.whole.rotations - 1)


@require_safe
@allow(*STAFF)
def class_plan(request: MemberRequest, session_id: UUID) -> HttpResponse:
    """Show the plan of a class, and the form that has one made."""
    table = _table(request, session_id)
    return _page(request, table, table.form(), table.words)


@require_POST
@allow(OWNER, COACH, right="may_log")
def class_plan_make(request: MemberRequest, session_id: UUID) -> HttpResponseBase:
    """Have the class planned with what the form and the words in it say; whatever goes wrong, these stay."""
    table = _table(request, session_id)
    form = table.form(request.POST)
    words = _words(request)
    if not form.is_valid():
        return _page(request, table, form, words, status=form.status)
    try:
        row = service.plan_class(
            by=request.member,
            session=table.session,
            shape=form.shape,
            words=words,
            first_rotation=form.cleaned_data["first_rotation"],
            keep=not form.cleaned_data["afresh"],
            seen=form.cleaned_data["seen"],
        )
    except service.ShapeRefusedError as error:
        form.refuse_all(error.problems)
    except (service.NobodyToPlanError, NoPlanInTimeError, PlannerBusyError) as error:
        form.add_error(None, str(error))
    except ClashingRulesError as error:
        return _page(request, table, form, words, clash=error.clash.rules, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    except (service.PlannedMeanwhileError, SessionEndedError) as error:
        messages.error(request, str(error))
        return see_other(reverse("class_plan", args=[table.session.id]))
    else:
        messages.success(request, "Planned." if row.number == 1 else "Planned again.")
        return see_other(f"{reverse('class_plan', args=[table.session.id])}#rotation-{_shown_first(request, row)}")
    return _page(request, table, form, words, status=form.status)


def _shown_first(request: MemberRequest, row: object) -> int:
    """Return the number of the rotation that the page opens at: the one in which somebody was moved."""
    asked = request.POST.get("at", "")
    return int(asked) + 1 if asked.isdecimal() else getattr(row, "first_rotation", 0) + 1


def _words(request: MemberRequest) -> Words:
    try:
        return read_words(request.POST.getlist("pin"), request.POST.getlist("apart"))
    except ValueError:
        raise Http404 from None


@require_safe
@allow(OWNER, COACH, right="may_log")
def class_plan_person(request: MemberRequest, session_id: UUID, athlete_id: UUID, rotation: int) -> HttpResponse:
    """Show what can be done to somebody in a rotation: fixed, swapped, kept apart."""
    table = _table(request, session_id)
    athlete = access_athlete(request.member, athlete_id)
    key = str(athlete.id)
    if table.whole is None or rotation >= table.whole.rotations:
        raise Http404
    if key not in table.whole.of(rotation).ask.person:
        raise Http404
    names = names_in(table.whole, request.member.gym, timezone.now())
    values = {**table.values, "at": rotation}
    desk = Desk(book_of(request.member.gym), table.whole, names, values, table.words)
    context = {"session": table.session, "moves": moves_of(desk, key, rotation)}
    return render_page(request, "skills/class_plans/person.html", context)


def _page(
    request: MemberRequest,
    table: _Table,
    form: PlanForm,
    words: Words,
    *,
    clash: tuple[Rule, ...] = (),
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    now, book, session = timezone.now(), book_of(request.member.gym), table.session
    news = plan_news(book, session, table.whole, now)
    names = news.names
    rules: tuple[Rule, ...] = (*words.pins, *words.apart)
    context = {
        "session": session,
        "form": form,
        "news": news,
        "plan": shown_plan(book, session, table.run, names, now) if table.run else None,
        "said": [rule_words(rule, names.stations, names.labels) for rule in rules],
        "fields": said_fields(words),
        "clash": _clash(clash, form, words, names) if clash else (),
        "cautions": CAUTIONS,
        "may_log": may(request.member, "may_log") and not session.ended_at,
        "may_edit": may(request.member, "may_edit_skills"),
    }
    return render_page(request, "skills/class_plans/plan.html", context, status=status)


def _clash(rules: tuple[Rule, ...], form: PlanForm, words: Words, names: Names) -> object:
    first = form.cleaned_data["first_rotation"]
    of_class = tuple(replace(rule, rotation=rule.rotation + first) if isinstance(rule, Pin) else rule for rule in rules)
    return clash_moves(of_class, names, form.values, words)
