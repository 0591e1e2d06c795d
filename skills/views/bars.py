"""The gym's bars: their list, setting one for a body or for a group, and the check after it."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.queries.consents import shown_athletes
from gymtrack.lib.http import redirect_to, render_page, see_other
from skills import telling
from skills.access import access_bar, access_session, may
from skills.forms.bars import BarForm, BarSetForm, ShareForm, read_setting
from skills.queries import bars as queries
from skills.queries.boards import attendances_of
from skills.queries.books import book_of
from skills.services import bars as service
from skills.services.sessions import NoSuchHoleError, check_bar
from skills.showing.bar_list import told_bars
from skills.showing.bars import bars_panel
from skills.showing.shared_bar import shared_bar
from skills.views.places import came_from

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.models import Bar, TrainingSession


# ---- The list ------------------------------------------------------------------------------------------------------


@require_safe
@allow(*STAFF)
def bars(request: MemberRequest) -> HttpResponse:
    """Show the bars in use with what is around them, and what nobody has measured."""
    gym = request.member.gym
    context = {
        "bars": told_bars(gym, queries.bars_of(gym), timezone.now()),
        "retired": queries.retired_bars_of(gym),
        "may_edit": may(request.member, "may_edit_skills"),
        "may_log": may(request.member, "may_log"),
    }
    return render_page(request, "skills/bars/bars.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def bar_add(request: MemberRequest) -> HttpResponseBase:
    """Add a bar."""
    form = BarForm(request.POST or None, units=request.member.gym.units)
    if form.is_valid():
        try:
            bar = service.add_bar(by=request.member, entry=form.entry, bar_id=form.cleaned_data["id"])
        except service.BarRefusedError as error:
            form.refuse_all(error.problems)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"Added: {bar.name}.")
            return redirect_to("bars")
    return render_page(request, "skills/bars/form.html", {"form": form, "bar": None}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def bar_change(request: MemberRequest, bar_id: UUID) -> HttpResponseBase:
    """Change a bar in use."""
    bar = _in_use(request, bar_id)
    form = BarForm(request.POST or None, units=request.member.gym.units, bar=bar)
    if form.is_valid():
        try:
            service.change_bar(by=request.member, bar=bar, entry=form.entry)
        except service.BarRefusedError as error:
            form.refuse_all(error.problems)
        except Refusal as refusal:
            form.refuse(refusal)
        except service.BarRetiredError as error:
            messages.error(request, str(error))
            return redirect_to("bars")
        else:
            messages.success(request, f"Changed: {bar.name}.")
            return redirect_to("bars")
    return render_page(request, "skills/bars/form.html", {"form": form, "bar": bar}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def bar_retire(request: MemberRequest, bar_id: UUID) -> HttpResponseBase:
    """Ask before a bar is taken out of use, and do it."""
    bar = access_bar(request.member, bar_id)
    if request.method == "POST":
        service.retire_bar(by=request.member, bar=bar)
        messages.success(request, f"Out of use: {bar.name}. Its checks stay.")
        return redirect_to("bars")
    return render_page(request, "skills/bars/retire.html", {"bar": bar})


def _in_use(request: MemberRequest, bar_id: UUID) -> Bar:
    bar = access_bar(request.member, bar_id)
    if bar.retired_at:
        raise Http404
    return bar


# ---- Setting one ---------------------------------------------------------------------------------------------------


@require_safe
@allow(*STAFF)
def set_bar(request: MemberRequest, athlete_id: UUID, code: str) -> HttpResponse:
    """Show how the bars are set for one athlete at a step."""
    athlete = access_athlete(request.member, athlete_id)
    step = book_of(request.member.gym).steps.get(code)
    if step is None:
        raise Http404
    (who,) = shown_athletes([athlete], timezone.now())
    context = {
        "athlete": athlete,
        "who": who,
        "step": telling.step_name(step),
        "panel": bars_panel(athlete=athlete, step=step, viewer_is_staff=True, now=timezone.now()),
    }
    return render_page(request, "skills/bars/set.html", context)


@require_safe
@allow(*STAFF)
def share_bar(request: MemberRequest, session_id: UUID) -> HttpResponse:
    """Show into which hole a bar is set for those of a class who share it."""
    session, now = access_session(request.member, session_id), timezone.now()
    low = [bar for bar in queries.bars_of(session.gym) if queries.stands_for(bar, "low")]
    here = _here(session)
    form = ShareForm(request.GET or None, bars=low, athletes=here)
    context = {"session": session, "form": form, "bars": low, "here": here, "may_log": may(request.member, "may_log")}
    if form.is_bound and form.is_valid():
        chosen = next(bar for bar in low if str(bar.id) == form.cleaned_data["bar"])
        group = [(athlete, name) for athlete, name in here if str(athlete.id) in form.cleaned_data["who"]]
        context["shared"] = shared_bar(bar=chosen, group=group, now=now)
    status = 422 if form.is_bound and form.errors else 200
    return render_page(request, "skills/bars/share.html", context, status=status)


def _here(session: TrainingSession) -> list[tuple[Athlete, str]]:
    athletes = [row.athlete for row in attendances_of(session)]
    shown = shown_athletes(athletes, timezone.now())
    return [(athlete, who.label) for athlete, who in zip(athletes, shown, strict=True)]


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def bar_set(request: MemberRequest, bar_id: UUID) -> HttpResponseBase:
    """Record that a bar was set and looked over, and go back to where it was asked for."""
    bar = _in_use(request, bar_id)
    asked = request.GET.get("hole", "")
    form = BarSetForm(
        request.POST or None,
        bar=bar,
        units=request.member.gym.units,
        hole=int(asked) if asked.isdecimal() else None,
        session_id=request.GET.get("session", ""),
    )
    if form.is_valid():
        _, hole = read_setting(form.cleaned_data["setting"])
        session_id = form.cleaned_data["session"]
        session = access_session(request.member, session_id) if session_id else None
        try:
            check = check_bar(by=request.member, session=session, bar="", of=bar, hole=hole)
        except NoSuchHoleError as error:
            form.add_error("setting", str(error))
        else:
            messages.success(request, f"Checked: {check.bar}{f', hole {hole}' if hole else ''}.")
            return see_other(came_from(request, "bars"))
    context = {"bar": bar, "form": form, "back": came_from(request, "bars")}
    return render_page(request, "skills/bars/check.html", context, status=422 if form.errors else 200)
