"""What an athlete, or a guardian for a minor, agreed to: said by themselves, or written down by a coach."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.access.records import access_athlete
from athletes.access.rules import EVERYBODY, MemberRequest, allow
from athletes.core.consents import WORDS
from athletes.core.refusal import Refusal
from athletes.forms.consents import ConsentForm
from athletes.queries.consents import consent_history, consents_at
from athletes.services.consents import may_record, record_consent
from gymtrack.lib.http import redirect_to, render_page

if TYPE_CHECKING:
    from athletes.models import Athlete


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*EVERYBODY)
def consents(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show each consent with its last word and everything said before; take a new word from who may say it."""
    athlete = access_athlete(request.member, athlete_id)
    may_say = may_record(request.member, athlete)
    form = None
    if request.method == "POST":
        if not may_say:
            raise PermissionDenied
        form = ConsentForm(request.POST.get("kind", ""), request.POST, staff=request.member.is_staff_member)
        if _recorded(request, athlete, form):
            return redirect_to("consents", athlete.id)
    context = _context(request, athlete, form) | {"may_say": may_say}
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form else HTTPStatus.OK
    return render_page(request, "athletes/consents.html", context, status=status)


def _recorded(request: MemberRequest, athlete: Athlete, form: ConsentForm) -> bool:
    """Record what the form says and return True, or put beside its fields why not."""
    if not form.is_valid():
        return False
    try:
        row = record_consent(by=request.member, athlete=athlete, **form.as_said)
    except Refusal as refusal:
        form.refuse(refusal)
        return False
    words = "Consent is given" if row.given else "Consent is not given, or withdrawn"
    messages.success(request, f"Recorded: {WORDS[row.kind]}. {words}.")
    return True


def _context(request: MemberRequest, athlete: Athlete, form: ConsentForm | None) -> dict[str, object]:
    said = consents_at([athlete.id], timezone.now())[athlete.id]
    minor, staff = athlete.is_minor(), request.member.is_staff_member
    sent = form["kind"].value() if form else ""
    return {
        "athlete": athlete,
        "minor": minor,
        "staff": staff,
        "kinds": [
            {
                "code": kind,
                "words": words,
                "line": said.get(kind),
                "counts": kind in said and said[kind].counts_for(athlete.standing()),
                "form": form if form and sent == kind else ConsentForm(kind, staff=staff),
            }
            for kind, words in WORDS.items()
        ],
        "history": consent_history(athlete),
    }
