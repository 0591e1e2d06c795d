"""The roster: the list, one athlete, their log-in, a minor's guardians."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone

from athletes.access.invitations import invited_for
from athletes.access.records import access_athlete, athletes_in_sight, practising_athletes
from athletes.access.rules import STAFF, MemberRequest, allow, holds
from athletes.core.refusal import Refusal
from athletes.forms.athlete import AthleteChangeForm, AthleteForm
from athletes.queries.roster import guardians_of, login_of, roster_rows
from athletes.services.roster import change_athlete, enrol_athlete
from gymtrack.lib.http import redirect_to, render_page


@allow(*STAFF)
def roster(request: MemberRequest) -> HttpResponseBase:
    """List who practises, or who fits the words; who left too, if asked for; links only for who may change it."""
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
        "invited": invited_for(request.member, athlete),
        "now": timezone.now(),
    }
    return render_page(request, "athletes/athlete_change.html", context, status=form.status)
