"""One athlete, as the gym's staff see them."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.consents import BODY
from athletes.core.screenings import screening_words
from athletes.queries.consents import consents_lacking
from athletes.queries.contacts import contacts_of
from athletes.queries.screenings import screening_of
from gymtrack.lib.http import render_page
from skills import telling, wording
from skills.access import may
from skills.core.readiness import StepStanding
from skills.forms.attempts import VOID_REASONS
from skills.queries import evidence
from skills.queries.books import Book, StepPage, book_of
from skills.queries.cautions import cautions_active
from skills.queries.progress import next_page
from skills.showing.progress_panels import Viewer, panels_of

_ATTEMPTS = 20
_DECISIONS = 20


@require_GET
@allow(*STAFF)
def athlete(request: MemberRequest, athlete_id: UUID) -> HttpResponse:
    """Show how the athlete stands, cautions, the last attempts and the decisions."""
    found = access_athlete(request.member, athlete_id)
    book, now = book_of(request.member.gym), timezone.now()
    attempts = evidence.recent_attempts(found, _ATTEMPTS)
    decisions = list(evidence.decisions_of(found)[:_DECISIONS])
    cautions = list(cautions_active([found.id], now))
    about = [row.id for row in (*attempts, *decisions, *cautions)]
    remarks = evidence.remarks_by_commitment(request.member.gym, about)
    pages = {step_id: book.steps[code] for step_id, code in book.codes.items()}
    record = evidence.record_of(book, found, now)
    step, viewer = next_page(book, found, now), Viewer(is_staff=True, table=request.GET.get("table", ""))
    context = {
        "next_step": step,
        "panels": panels_of(athlete=found, step=step, viewer=viewer, now=now),
        "athlete": found,
        "contacts": contacts_of(found),
        "screening": screening_words(screening_of(found), timezone.localdate(timezone=found.gym.zone)),
        "no_consent": [words for _, words in consents_lacking(found, BODY, now)],
        "skills": [(skill.name, [_step(book, *step) for step in skill.steps]) for skill in record if skill.steps],
        "not_begun": [skill.name for skill in record if not skill.steps],
        "cautions": [telling.caution_words(row, remarks) for row in cautions],
        "attempts": [telling.attempt_words(row, pages[row.step_id], remarks=remarks) for row in attempts],
        "decisions": [telling.decision_words(row, pages[row.step_id], remarks) for row in decisions],
        "may_log": may(request.member, "may_log"),
        "may_lift": may(request.member, "may_sign_off"),
        "may_prove": may(request.member, "may_sign_off") or may(request.member, "may_read_reports"),
        "void_reasons": VOID_REASONS,
    }
    return render_page(request, "skills/athletes/athlete.html", context)


def _step(book: Book, page: StepPage, standing: StepStanding) -> dict[str, object]:
    return {
        "id": page.id,
        "code": page.code,
        "skill": page.skill_slug,
        "name": telling.step_name(page),
        "state": standing.now.state,
        "awaits": standing.now.awaits,
        "awaits_words": telling.GATES.get(standing.now.awaits, ""),
        "clearance": wording.CLEARANCES[standing.now.clearance] if standing.now.clearance else "",
        "missing": telling.missing_words(book, standing),
        "gates": _gates(book, page.code, passed=standing.now.base in {"passed", "recheck"}),
    }


def _gates(book: Book, code: str, *, passed: bool) -> list[tuple[str, str]]:
    """Return the gates of a step at which a coach has, or may have, something to decide."""
    rule = book.rules.steps[code]
    gates = [("entrance", "Clearance to try it")] if rule.asks_clearance else []
    return gates + ([("finish", "Sign-off")] if rule.needs_sign_off or passed else [])
