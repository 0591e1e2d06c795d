"""Today: where a coach begins."""

from __future__ import annotations

from datetime import date, timedelta
from http import HTTPStatus
from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.utils import timezone

from athletes.access.certificates import skills_signed
from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.certificates import ends_soon
from athletes.queries.certificates import certificates_at, certificates_to_renew
from athletes.wording import certificate_words
from gymtrack.lib.http import render_page
from skills.access import may
from skills.forms.sessions import StartForm, usual_name
from skills.queries import boards
from skills.queries.books import book_of
from skills.queries.risk_notes import unread_notes
from skills.queries.safety import equipment_now
from skills.queries.standings import sign_off_queue
from skills.telling import caution_words, step_name
from skills.wording import terms_of

if TYPE_CHECKING:
    from athletes.models import Membership

_DAYS_BACK = 8
_LINES = 6


@allow(*STAFF)
def today(request: MemberRequest) -> HttpResponse:
    """Show what runs, what waits, and start a session."""
    form = StartForm(book_of(request.member.gym), initial={"name": usual_name(timezone.localtime())})
    return today_page(request, form)


def today_page(request: MemberRequest, form: StartForm, status: HTTPStatus = HTTPStatus.OK) -> HttpResponse:
    """Render the page with that form for starting a session."""
    gym, now = request.member.gym, timezone.now()
    book = book_of(gym)
    due = boards.rechecks_due(book, gym, now)
    terms = terms_of(book)
    waiting = sign_off_queue(book, gym, now)
    mine = skills_signed(request.member, {item.page.skill_slug for item in waiting}, now)
    cautioned = boards.athletes_under_caution(gym, now)
    context = {
        "form": form,
        "running": boards.running_sessions(gym),
        "ended": boards.ended_sessions(gym, now - timedelta(days=_DAYS_BACK)),
        "waiting": [item for item in waiting if item.page.skill_slug in mine],
        "waiting_others": sum(item.page.skill_slug not in mine for item in waiting),
        "certificates": _certificates(request.member, timezone.localdate()),
        "equipment": equipment_now(gym),
        "unread": unread_notes(request.member, now),
        "due": [(item.athlete, step_name(item.page), terms.day(item.now.from_us)) for item in due[:_LINES]],
        "due_more": max(len(due) - _LINES, 0),
        "cautioned": [(athlete, [caution_words(c) for c in found]) for athlete, found in cautioned[:_LINES]],
        "cautioned_more": max(len(cautioned) - _LINES, 0),
        "may_log": may(request.member, "may_log"),
    }
    return render_page(request, "skills/today/today.html", context, status=status)


def _certificates(member: Membership, today: date) -> list[tuple[str, str]]:
    """Say which certificates have lapsed or end soon, and whose they are: one's own, to an owner all of the staff's."""
    if member.is_owner:
        found = [(person.person.full_name, line) for person, line in certificates_to_renew(member.gym, today)]
    else:
        lines = certificates_at(member.id, today)
        found = [("", line) for line in lines if line.lapsed or ends_soon(line, today)]
    return [(name, certificate_words(line, today)) for name, line in found]
