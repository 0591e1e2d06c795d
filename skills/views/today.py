"""Today: where a coach begins."""

from __future__ import annotations

from datetime import timedelta
from http import HTTPStatus

from django.http import HttpResponse
from django.utils import timezone

from athletes.access.rules import STAFF, MemberRequest, allow
from gymtrack.lib.http import render_page
from skills.access import may
from skills.forms.sessions import StartForm, usual_name
from skills.queries import boards
from skills.queries.books import book_of
from skills.queries.standings import sign_off_queue
from skills.telling import caution_words, step_name
from skills.wording import terms_of

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
    cautioned = boards.athletes_under_caution(gym, now)
    context = {
        "form": form,
        "running": boards.running_sessions(gym),
        "ended": boards.ended_sessions(gym, now - timedelta(days=_DAYS_BACK)),
        "waiting": sign_off_queue(book, gym, now),
        "due": [(item.athlete, step_name(item.page), terms.day(item.now.from_us)) for item in due[:_LINES]],
        "due_more": max(len(due) - _LINES, 0),
        "cautioned": [(athlete, [caution_words(c) for c in found]) for athlete, found in cautioned[:_LINES]],
        "cautioned_more": max(len(cautioned) - _LINES, 0),
        "may_log": may(request.member, "may_log"),
    }
    return render_page(request, "skills/today/today.html", context, status=status)
