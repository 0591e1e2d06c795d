"""The list of who may do what alone, for open gym: what is in effect at this very moment, to be read or printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.queries.consents import Shown
from gymtrack.lib.http import render_page
from skills import telling, wording
from skills.core.days import moment_us
from skills.queries.alone import CLEARANCES, Cleared, MayDo, WhoMayDoWhat, who_may_do_what
from skills.queries.books import Book, book_of
from skills.why_words import clock

if TYPE_CHECKING:
    from athletes.models import Caution


@require_safe
@allow(*STAFF)
def alone(request: MemberRequest) -> HttpResponse:
    """Show by athlete what may be done alone, with a coach present, and spotted; `?present=1` for those here today."""
    gym, now = request.member.gym, timezone.now()
    book, present = book_of(gym), request.GET.get("present") == "1"
    found = who_may_do_what(book, gym, now, present=present)
    terms = wording.terms_of(book)
    context = {
        "present": present,
        "people": [_person(person) for person in found.people],
        "named": _named(book, found),
        "as_of": clock(moment_us(now), terms),
        "until": clock(found.until_us, terms),
    }
    return render_page(request, "skills/alone/alone.html", context)


def _person(person: MayDo) -> dict[str, object]:
    return {
        "athlete": person.athlete,
        "label": Shown(person.athlete.id, person.athlete.number, person.stops.name).label,
        "no_consent": person.no_consent,
        "may": [_labels(person.under(clearance)) for clearance in CLEARANCES],
        "cautions": [_caution(caution) for caution in person.cautions],
    }


def _caution(caution: Caution) -> str:
    """Tell a caution without its reason: the list hangs on a wall."""
    words = telling.caution_words(caution)
    return f"{words.loads}, {words.until}"


def _labels(steps: tuple[Cleared, ...]) -> list[str]:
    """Return a line a skill, 'Bar pullover: 3a, 4*': the list must fit a sheet, and names stand beneath it."""
    lines: dict[str, list[str]] = {}
    for step in steps:
        lines.setdefault(step.page.skill_name, []).append(f"{step.page.label}{'*' if step.trouble else ''}")
    return [f"{skill}: {', '.join(labels)}" for skill, labels in lines.items()]


def _named(book: Book, found: WhoMayDoWhat) -> list[str]:
    """Return what the labels on the list stand for, a line a skill."""
    used = {step.page.code for person in found.people for step in person.cleared}
    lines: dict[str, list[str]] = {}
    for page in (page for code, page in book.steps.items() if code in used):
        lines.setdefault(page.skill_name, []).append(telling.step_name(page))
    return [f"{skill}: {', '.join(names)}" for skill, names in lines.items()]
