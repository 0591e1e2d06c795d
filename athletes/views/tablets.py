"""Tablets of the gym floor: the list, a new one, the end of one. And a coach's own code."""

from __future__ import annotations

from http import HTTPStatus
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone

from athletes.access.rules import OWNER, STAFF, MemberRequest, allow, holds
from athletes.access.tablets import access_tablet, tablets_in_sight
from athletes.core.refusal import Refusal
from athletes.forms.tablets import CodeForm, TabletForm
from athletes.queries.tablets import code_of, loggers_with_codes, names_of_holders
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet, revoke_tablet
from athletes.wording import clock_words
from gymtrack.lib.http import redirect_to, render_page

ADD_PAGE = "athletes/tablet_add.html"


@allow(OWNER)
def tablets(request: MemberRequest) -> HttpResponseBase:
    """List the tablets with who holds each, and who may take one over."""
    gym, now = request.member.gym, timezone.now()
    holders = names_of_holders(gym, now)
    rows = [
        {"tablet": tablet, "holders": holders.get(tablet.id, []), "clock": clock_words(tablet.offset_ms or 0)}
        for tablet in tablets_in_sight(request.member)
    ]
    context = {"rows": rows, "coaches": loggers_with_codes(gym), "now": now}
    return render_page(request, "athletes/tablets.html", context)


@allow(OWNER)
def tablet_add(request: MemberRequest) -> HttpResponseBase:
    """Let a tablet in. The page that answers the POST is the only one that ever shows its code."""
    form = TabletForm(request.POST or None)
    if form.is_valid():
        try:
            added = add_tablet(by=request.member, name=form.cleaned_data["name"])
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return render_page(request, ADD_PAGE, {"added": added}, status=HTTPStatus.CREATED)
    return render_page(request, ADD_PAGE, {"form": form}, status=form.status)


@allow(OWNER)
def tablet_revoke(request: MemberRequest, tablet_id: UUID) -> HttpResponseBase:
    """Ask, then shut a tablet out."""
    tablet = access_tablet(request.member, tablet_id)
    if request.method == "POST":
        revoke_tablet(by=request.member, tablet=tablet)
        messages.success(request, f"The tablet “{tablet.name}” is shut out.")
        return redirect_to("tablets")
    return render_page(request, "athletes/tablet_revoke.html", {"tablet": tablet})


@allow(*STAFF)
def my_code(request: MemberRequest) -> HttpResponseBase:
    """Set one's own code."""
    form = CodeForm(request.POST or None)
    if form.is_valid():
        try:
            set_code(by=request.member, code=form.cleaned_data["code"])
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "Your code is set. Type it on a tablet of the gym to take over.")
            return redirect_to("my_code")
    context = {
        "form": form,
        "kept": code_of(request.member),
        "may_log": holds(request.member, "may_log"),
        "now": timezone.now(),
    }
    return render_page(request, "athletes/my_code.html", context, status=form.status)
