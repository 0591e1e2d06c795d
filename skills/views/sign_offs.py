"""What waits for a coach's decision, and the decision itself."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from athletes.access.certificates import signers_of, why_not_signing
from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.queries.screenings import screening_notice
from gymtrack.lib.http import render_page, see_other
from skills import rule_words, telling, wording
from skills.access import access_step
from skills.forms.sign_offs import SignOffForm
from skills.queries import evidence
from skills.queries.books import Book, book_of
from skills.queries.risk_notes import has_read, notes_of
from skills.queries.standings import sign_off_queue
from skills.services import sign_offs as service
from skills.showing.gate_panels import gate_panels
from skills.views.consents import no_consent
from skills.views.places import came_from
from skills.views.signers import signer_context, who_signs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from athletes.models import Membership


@require_GET
@allow(*STAFF)
def sign_offs(request: MemberRequest) -> HttpResponse:
    """Show the queue: what the member may decide first, and of it what nobody put off since it began to wait."""
    gym = request.member.gym
    book = book_of(gym)
    now = timezone.now()
    waiting = sign_off_queue(book, gym, now)
    signers = signers_of(gym, {item.page.skill_slug for item in waiting}, now)
    put_off = evidence.not_yet_since(book, waiting)
    rows = [
        {
            "athlete": item.athlete,
            "step": telling.step_name(item.page),
            "step_id": item.page.id,
            "skill": item.page.skill_name,
            "gate": item.now.awaits,
            "gate_words": telling.GATES[item.now.awaits],
            "since": telling.since(item.now.from_us),
            "paused": item.now.state == "paused",
            "put_off": put_off.get((item.athlete.id, item.page.code, item.now.awaits)),
            **_signers(request.member, signers[item.page.skill_slug]),
        }
        for item in waiting
    ]
    rows.sort(key=lambda row: (not row["is_mine"], row["put_off"] is not None))
    return render_page(request, "skills/sign_offs/queue.html", {"rows": rows})


def _signers(member: Membership, signers: Sequence[Membership]) -> dict[str, object]:
    """Say whether the member is among who may decide, and who may."""
    return {
        "is_mine": any(signer.id == member.id for signer in signers),
        "signers": [signer.person.full_name for signer in signers],
    }


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*STAFF)
def sign_off(request: MemberRequest, athlete_id: UUID, step_id: UUID, gate: str) -> HttpResponseBase:
    """Show the evidence at a gate; take the decision of a coach who may sign off.

    `signer` names who it is that decides: nobody decides in the name of another, and where somebody else is signed in,
    as on a tablet of the gym floor, the page asks that coach to sign in first.
    """
    signer = who_signs(request)
    member, awaited = signer.member, signer.awaited
    athlete = access_athlete(member, athlete_id)
    book = book_of(member.gym)
    page = book.step(access_step(member, step_id).id)
    if page is None or gate not in telling.GATES:
        raise Http404
    now = timezone.now()
    case = evidence.gate_case(book, athlete, page, gate, now)
    why_not, back = why_not_signing(member, now, page.skill_slug), came_from(request, "sign_offs")
    may_sign = not why_not and not awaited
    notes = notes_of(access_step(member, page.id))
    asks = not has_read(member, notes)
    if request.method != "POST" or awaited:
        form = SignOffForm(gate, case.possible, initial={"next": back}, asks_reading=asks)
    elif may_sign:
        if evidence.is_decided(athlete, request.POST.get("id", "")):
            return see_other(back)  # the same form a second time
        form = SignOffForm(gate, case.possible, request.POST, asks_reading=asks)
        if _decided(request, member, case, form):
            return see_other(back)
    else:
        raise PermissionDenied(why_not)
    looked_at = [page] if gate == "finish" else [step for step, _ in case.required]
    table = request.GET.get("table", "")
    context = {
        **_case_context(request, book, case),
        **signer_context(request, signer),
        "risk_notes": notes,
        "form": form if may_sign and (case.possible or form.errors) else None,
        "may_sign": may_sign,
        "why_not": why_not,
        "no_consent": no_consent(athlete, book, page, now),
        "screening": screening_notice(athlete),
        "panels": gate_panels(book=book, athlete=athlete, page=page, looked_at=looked_at, table=table, now=now),
        "back": back,
    }
    return render_page(request, "skills/sign_offs/sign_off.html", context, status=_status(request, awaited, form))


def _status(request: MemberRequest, awaited: str, form: SignOffForm) -> HTTPStatus:
    if awaited and request.method == "POST":
        return HTTPStatus.FORBIDDEN
    return HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK


def _decided(request: MemberRequest, member: Membership, case: evidence.GateCase, form: SignOffForm) -> bool:
    """Record what the form says and return True, or put beside its fields why not."""
    if not form.is_valid():
        return False
    decision = form.as_decision()
    try:
        service.sign_off(by=member, athlete=case.athlete, step=case.page, decision=decision)
    except service.SignOffRefusedError as error:
        form.refuse(*error.mistakes)
        return False
    who = f"{case.athlete.number} {case.athlete.board_name}"
    words = f"{telling.step_name(case.page)}, {telling.GATES[case.gate]}: {telling.DECISIONS[decision.decision]}"
    messages.success(request, f"Recorded for {who}: {words}.")
    return True


def _case_context(request: MemberRequest, book: Book, case: evidence.GateCase) -> dict[str, object]:
    about = [row.id for row in (*case.attempts, *case.decided, *case.cautions)]
    remarks = evidence.remarks_by_commitment(request.member.gym, about)
    pages = {step_id: book.steps[code] for step_id, code in book.codes.items()}
    return {
        "athlete": case.athlete,
        "step": access_step(request.member, case.page.id),
        "step_name": telling.step_name(case.page),
        "gate": case.gate,
        "gate_words": telling.GATES[case.gate],
        "standing": case.standing,
        "clearance": wording.CLEARANCES[case.standing.now.clearance],
        "rule": rule_words.rule(case.criterion, wording.terms_of(book).of_step(case.page)) if case.criterion else "",
        "missing": telling.missing_words(book, case.standing),
        "required": [(telling.step_name(page), now.state) for page, now in case.required],
        "attempts": [
            telling.attempt_words(row, pages[row.step_id], remarks=remarks, evidence=case.evidence)
            for row in case.attempts
        ],
        "cautions": [telling.caution_words(row, remarks) for row in case.cautions],
        "decisions": [telling.decision_words(row, case.page, remarks) for row in case.decided],
    }
