"""The roster: the list, one athlete, their log-in, a minor's guardians."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone

from athletes.access.records import access_athlete, athletes_in_sight, practising_athletes
from athletes.access.rules import STAFF, MemberRequest, allow, holds
from athletes.core.refusal import Refusal
from athletes.forms.athlete import AthleteChangeForm, AthleteForm
from athletes.forms.people import LoginForm, NamedLoginForm
from athletes.queries.roster import guardians_of, login_of, roster_rows
from athletes.services.roster import add_guardian, change_athlete, enrol_athlete, give_login
from gymtrack.lib.http import redirect_to, render_page


@allow(*STAFF)
def roster(request: MemberRequest) -> HttpResponseBase:
    """List who practises, or who fits the words; who left too, if asked for. Without the right to log it is read only."""
    now = timezone.now()
    words, left = request.GET.get("q", "").strip(), "left" in request.GET
    athletes = athletes_in_sight(request.member) if left else practising_athletes(request.member, now)
    rows, may_change = roster_rows(athletes, now=now, words=words), holds(request.member, "may_log")
    context = {"rows": rows, "q": words, "left": left, "may_change": may_change}
    return render_page(request, "athletes/roster.html", context, fragment="people")


@allow(*STAFF, right="may_log")
def athlete_add(request: MemberRequest) -> HttpResponseBase:
    """Put somebody on the roster."""
    form = AthleteForm(request.POST or None, gym=request.member.gym, today=timezone.localdate())
    if form.is_valid():
        try:
            athlete = enrol_athlete(by=request.member, entry=form.entry)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"{athlete.board_name} is number {athlete.number}.")
            return redirect_to("athlete_change", athlete.id)
    return render_page(request, "athletes/athlete_add.html", {"form": form}, status=form.status)


@allow(*STAFF, right="may_log")
def athlete_change(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show and change who somebody is; by the full name, a minor's too."""
    athlete = access_athlete(request.member, athlete_id)
    form = AthleteChangeForm(request.POST or None, athlete=athlete, today=timezone.localdate())
    if form.is_valid():
        try:
            change_athlete(by=request.member, athlete=athlete, entry=form.entry, left_on=form.cleaned_data["left_on"])
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "The changes are stored.")
            return redirect_to("athlete_change", athlete.id)
    context = {
        "form": form,
        "athlete": athlete,
        "minor": athlete.is_minor(),
        "login": login_of(athlete),
        "guardians": guardians_of(athlete),
    }
    return render_page(request, "athletes/athlete_change.html", context, status=form.status)


@allow(*STAFF, right="may_log")
def athlete_login(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Let an athlete sign in."""
    athlete = access_athlete(request.member, athlete_id)
    form = LoginForm(request.POST or None, initial={"email": athlete.person.email})
    if form.is_valid():
        try:
            give_login(by=request.member, athlete=athlete, **form.cleaned_data)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"{athlete.board_name} can sign in.")
            return redirect_to("athlete_change", athlete.id)
    context = {"form": form, "athlete": athlete}
    return render_page(request, "athletes/athlete_login.html", context, status=form.status)


@allow(*STAFF, right="may_log")
def athlete_guardian(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Let a minor's guardian sign in and see their progress."""
    athlete = access_athlete(request.member, athlete_id)
    form = NamedLoginForm(request.POST or None)
    if form.is_valid():
        try:
            link = add_guardian(by=request.member, athlete=athlete, **form.cleaned_data)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"{link.guardian.person.full_name} can see their progress.")
            return redirect_to("athlete_change", athlete.id)
    context = {"form": form, "athlete": athlete}
    return render_page(request, "athletes/athlete_guardian.html", context, status=form.status)
