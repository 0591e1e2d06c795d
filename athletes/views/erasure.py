"""Asking that what is kept about somebody is erased, and the owner's answer."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponseBase

from athletes.access.erasures import access_person, access_ward
from athletes.access.rules import EVERYBODY, GUARDIAN, OWNER, MemberRequest, allow
from athletes.core.erasure_words import every_line, what_goes, what_stays
from athletes.core.refusal import Refusal
from athletes.forms.erasure import RefusalForm, SureForm
from athletes.models import Person
from athletes.queries.erasures import (
    answered_requests,
    known,
    last_refusal_of,
    open_request_of,
    open_requests,
    people_called,
    wards_of,
)
from athletes.services.erasure import erase_person
from athletes.services.erasure_requests import ask_erasure, refuse_erasure
from gymtrack.lib.http import redirect_to, render_page


@allow(*EVERYBODY)
def erasure_mine(request: MemberRequest) -> HttpResponseBase:
    """Say what erasure would do, and ask for one's own."""
    member = request.member
    wards = wards_of(member) if member.role == GUARDIAN else []
    return _ask(request, member.person, ward=None, extra={"wards": wards})


@allow(GUARDIAN)
def erasure_ward(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """The same for a ward."""
    person = access_ward(request.member, athlete_id)
    return _ask(request, person, ward=athlete_id)


@allow(OWNER)
def erasures(request: MemberRequest) -> HttpResponseBase:
    """List what was asked for, and look for somebody who did not ask."""
    gym, words = request.member.gym, request.GET.get("q", "")[:120]
    context = {
        "open": open_requests(gym),
        "answered": answered_requests(gym),
        "words": words,
        "found": people_called(gym, words) if words.strip() else None,
    }
    return render_page(request, "athletes/erasures.html", context)


@allow(OWNER)
def erasure(request: MemberRequest, person_id: UUID) -> HttpResponseBase:
    """Erase somebody, or refuse what they asked for."""
    person = access_person(request.member, person_id)
    refusing = "reason" in request.POST
    sure = SureForm(None if refusing else request.POST or None)
    reason = RefusalForm(request.POST if refusing else None)
    if sure.is_valid() and _erased(request, person, sure):
        if person.pk == request.member.person_id:
            logout(request)
            return redirect_to("account_login")
        messages.success(request, "Erased. What stays is under a random number.")
        return redirect_to("erasures")
    asked = open_request_of(person)
    if asked and reason.is_valid():
        try:
            refuse_erasure(by=request.member, request=asked, reason=reason.cleaned_data["reason"])
        except Refusal as refusal:
            reason.refuse(refusal)
        else:
            messages.success(request, "Refused. Who asked reads why on the page where they asked.")
            return redirect_to("erasures")
    context = {
        "person": person,
        "known": known(person),
        "asked": asked,
        "sure": sure,
        "reason": reason,
        "self": person.pk == request.member.person_id,
        **_words(person),
    }
    return render_page(request, "athletes/erasure.html", context, status=max(sure.status, reason.status))


def _erased(request: MemberRequest, person: Person, form: SureForm) -> bool:
    try:
        erase_person(person=person, by=request.member)
    except Refusal as refusal:
        form.refuse(refusal)
        return False
    return True


def _ask(
    request: MemberRequest, person: Person, *, ward: UUID | None, extra: dict[str, object] | None = None
) -> HttpResponseBase:
    form = SureForm(request.POST or None)
    if form.is_valid():
        try:
            ask_erasure(by=request.member, person=person)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "Asked. An owner of the gym answers; until then everything stays as it is.")
            return redirect_to("erasure_ward", ward) if ward else redirect_to("erasure_mine")
    context = {
        "form": form,
        "ward": ward,
        "person": person,
        "asked": open_request_of(person),
        "refused": last_refusal_of(person),
        **_words(person),
        **(extra or {}),
    }
    return render_page(request, "athletes/erasure_ask.html", context, status=form.status)


def _words(person: Person) -> dict[str, object]:
    roles = known(person).roles
    return {"goes": what_goes(roles), "stays": what_stays(roles), "lines": every_line()}
