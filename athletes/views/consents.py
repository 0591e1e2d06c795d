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
from athletes.core.consent_words import EXTENTS, MEANINGS, recorded_words, said_words, stands_words, who_has_to_say
from athletes.core.consents import WORDS, extent_of, who_decides
from athletes.core.refusal import Refusal
from athletes.forms.consents import ConsentForm
from athletes.queries.consents import consent_history, consents_at
from athletes.services.consents import may_record, record_consent
from gymtrack.lib.http import render_page, see_other
from gymtrack.lib.places import came_from

if TYPE_CHECKING:
    from athletes.models import Athlete


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*EVERYBODY)
def consents(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show each consent with its last word and everything said before; take a new word from who may say it."""
    athlete = access_athlete(request.member, athlete_id)
    form = None
    if request.method == "POST":
        kind = request.POST.get("kind", "")
        if not may_record(request.member, athlete, kind):
            raise PermissionDenied
        form = ConsentForm(kind, request.POST, staff=request.member.is_staff_member)
        if _recorded(request, athlete, form):
            return see_other(came_from(request, "consents", athlete.id))
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form else HTTPStatus.OK
    return render_page(request, "athletes/consents.html", _context(request, athlete, form), status=status)


def _recorded(request: MemberRequest, athlete: Athlete, form: ConsentForm) -> bool:
    """Record what the form says and return True, or put beside its fields why not."""
    if not form.is_valid():
        return False
    try:
        row = record_consent(by=request.member, athlete=athlete, **form.as_said)
    except Refusal as refusal:
        form.refuse(refusal)
        return False
    messages.success(request, f"Recorded: {WORDS[row.kind]}. {recorded_words(given=row.given, extent=row.extent)}")
    return True


def _context(request: MemberRequest, athlete: Athlete, form: ConsentForm | None) -> dict[str, object]:
    said, standing = consents_at([athlete.id], timezone.now())[athlete.id], athlete.standing()
    staff, shown = request.member.is_staff_member, extent_of(said, standing)
    sent = form["kind"].value() if form else ""
    return {
        "athlete": athlete,
        "standing": standing,
        "staff": staff,
        "own": request.member.athlete_id == athlete.id,
        "kinds": [
            {
                "code": kind,
                "words": words,
                "means": MEANINGS[kind],
                "stands": stands_words(said.get(kind), kind, standing, shown),
                "has_to": who_has_to_say(said.get(kind), kind, standing),
                "line": said.get(kind),
                "decides": who_decides(kind, standing),
                "may_say": may_record(request.member, athlete, kind),
                "form": form if form and sent == kind else ConsentForm(kind, staff=staff),
            }
            for kind, words in WORDS.items()
        ],
        "extents": EXTENTS,
        "history": [(line, said_words(line)) for line in consent_history(athlete)],
    }
