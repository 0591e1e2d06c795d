"""Choosing a step's standard."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_POST

from athletes.access.rules import COACH, OWNER, AccessRule, MemberRequest, allow
from athletes.core.refusal import Refusal
from gymtrack.lib.http import redirect_to
from skills import wording
from skills.core.criteria import Criterion
from skills.core.days import moment_us
from skills.core.standards import Standard, standards_for
from skills.queries.books import Book, StepPage, book_of
from skills.services.criteria import adopt_criterion

RULE = AccessRule((OWNER, COACH), "may_edit_skills")


@dataclass(frozen=True, slots=True)
class StandardChoice:
    """A standard to choose from, as a sentence."""

    name: str
    sentence: str


def standard_choices(request: MemberRequest, book: Book, page: StepPage) -> list[StandardChoice]:
    """Return what the member may choose for a step; nothing for who may not edit skills."""
    if not RULE.admits(request.member):
        return []
    terms = wording.terms_of(book).of_step(page)
    return [StandardChoice(each.name, wording.rule(each.criterion, terms)) for each in _standards(book, page)]


@require_POST
@allow(OWNER, COACH, right="may_edit_skills")
def step_standard(request: MemberRequest, slug: str, code: str) -> HttpResponseBase:
    """Adopt the chosen standard."""
    book = book_of(request.member.gym)
    page = book.steps.get(code)
    if page is None or page.skill_slug != slug:
        raise Http404
    chosen = next((each for each in _standards(book, page) if each.name == request.POST.get("standard")), None)
    if chosen is None:
        messages.error(request, "Choose one of the standards; nothing was changed.")
        return redirect_to("step", slug, code)
    try:
        adopt_criterion(by=request.member, step=page, criterion=chosen.criterion)
    except Refusal as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The standard holds from now on. What was passed before stays passed.")
    return redirect_to("step", slug, code)


def _standards(book: Book, page: StepPage) -> tuple[Standard, ...]:
    criterion = _in_force(book, page)
    if criterion is None:
        return ()
    return standards_for(criterion, is_hold=page.form.is_hold, grades=page.form.grades)


def _in_force(book: Book, page: StepPage) -> Criterion | None:
    version = book.rules.steps[page.code].in_force_at(moment_us(timezone.now()))
    return version.criterion if version else None
