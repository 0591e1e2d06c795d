"""Whom to call for an athlete: read by the staff, said by them, by a guardian or by the athlete."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponseBase
from django.views.decorators.http import require_http_methods

from athletes.access.records import access_athlete
from athletes.access.rules import EVERYBODY, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.forms.contacts import ContactForm
from athletes.queries.contacts import ContactLine, contacts_of
from athletes.services.contacts import may_say_contacts, remove_contact, save_contact
from gymtrack.lib.http import redirect_to, render_page


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*EVERYBODY)
def contacts(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show whom to call; `?change=` puts one into the form; a form stores one, its other button removes one."""
    athlete = access_athlete(request.member, athlete_id)
    known, may_say = contacts_of(athlete), may_say_contacts(request.member, athlete)
    form = ContactForm(request.POST or None, initial=_initial(request, known))
    if request.method == "POST":
        if not may_say:
            raise PermissionDenied
        if "remove" in request.POST:
            remove_contact(by=request.member, athlete=athlete, contact_id=_uuid(request.POST["remove"]))
            messages.success(request, "Removed.")
            return redirect_to("contacts", athlete.id)
        if form.is_valid():
            try:
                save_contact(by=request.member, athlete=athlete, **form.cleaned_data)
            except Refusal as refusal:
                form.refuse(refusal)
            else:
                messages.success(request, "Stored.")
                return redirect_to("contacts", athlete.id)
    context = {
        "athlete": athlete,
        "contacts": known,
        "may_say": may_say,
        "form": form,
        "changing": "change" in request.GET,
        "own": athlete.id == request.member.athlete_id,
        "staff": request.member.is_staff_member,
    }
    return render_page(request, "athletes/contacts.html", context, status=form.status)


def _initial(request: MemberRequest, known: list[ContactLine]) -> dict[str, object]:
    if "change" not in request.GET:
        return {}
    asked = _uuid(request.GET["change"])
    line = next((line for line in known if line.id == asked), None)
    if line is None:
        raise Http404
    return {"contact_id": line.id, "name": line.name, "relation": line.relation, "phone": line.phone}


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise Http404 from None
