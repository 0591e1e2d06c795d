"""The proof of one athlete and one day, for an owner, a guardian or an insurer: one page, made to be printed.

Looking at it is a read: it leaves no entry in the audit chain. The print names the head of that chain instead.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from http import HTTPStatus
from typing import TYPE_CHECKING, Final
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.certificates import CertificateLine
from athletes.core.consents import ConsentLine
from athletes.queries.consents import reported_names
from gymtrack.lib.http import redirect_to, render_page
from skills import wording
from skills.access import may
from skills.core.days import moment_us
from skills.core.facts import SignOff
from skills.core.proofs import DayTries, Stretch, digest_of
from skills.forms.proofs import DayForm
from skills.queries.proofs import Proof, SessionOfDay, StaffOfDay, StepOfDay, proof_of
from skills.why_words import DECISIONS, GATES, caution_line, clock, criterion_words, learned, result_words

if TYPE_CHECKING:
    from athletes.models import Athlete

NOT_RECORDED: Final = "not recorded"
_RIGHTS: Final[Mapping[str, str]] = {
    "may_log": "log",
    "may_sign_off": "sign off",
    "may_edit_skills": "edit skills",
    "may_read_reports": "read reports",
}
_MOST_NAMED = 4  # attempts named one by one; more are summed up, so that a proof fits its page


@require_safe
@allow(*STAFF)
def proof_choose(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Ask for the day of a proof, and lead to it."""
    athlete = _athlete(request, athlete_id)
    form = DayForm(_today(athlete), request.GET if "day" in request.GET else None)
    if form.is_valid():
        return redirect_to("proof", athlete.id, form.cleaned_data["day"].isoformat())
    return _choose(request, athlete, form, form.status)


@require_safe
@allow(*STAFF)
def proof(request: MemberRequest, athlete_id: UUID, day: str) -> HttpResponse:
    """Show the proof of a day that has begun."""
    athlete = _athlete(request, athlete_id)
    form = DayForm(_today(athlete), {"day": day})
    if not form.is_valid():
        return _choose(request, athlete, form, HTTPStatus.NOT_FOUND)
    now, chosen = timezone.now(), form.cleaned_data["day"]
    found = proof_of(athlete, chosen, now)
    terms = wording.terms_of(found.book)
    is_today = chosen == _today(athlete)
    context = {
        "athlete": athlete,
        "name": reported_names([athlete], now)[athlete.id],
        "proof": found,
        "day": _day_words(chosen),
        "before": (chosen - timedelta(days=1)).isoformat(),
        "after": "" if is_today else (chosen + timedelta(days=1)).isoformat(),
        "known": clock(found.span.to_us, terms) if is_today else "",
        "steps": [_step(step, found, terms) for step in found.steps],
        "learned": [line for step in found.steps for line in _learned(step, found, terms)],
        "sessions": [_session(session) for session in found.sessions],
        "staff": [_staff(line, found, chosen) for line in found.staff],
        "consents": [_consent(words, line, athlete, chosen) for words, line in found.consents],
        "cautions": [caution_line(each, found.rows, terms) for each in found.cautions],
        "printed": clock(moment_us(now), terms),
    }
    return render_page(request, "skills/proofs/proof.html", context)


def _athlete(request: MemberRequest, athlete_id: UUID) -> Athlete:
    """Return the athlete to an owner, and to staff who may sign off or read reports."""
    athlete = access_athlete(request.member, athlete_id)
    if not (may(request.member, "may_sign_off") or may(request.member, "may_read_reports")):
        raise PermissionDenied
    return athlete


def _today(athlete: Athlete) -> date:
    return timezone.now().astimezone(athlete.gym.zone).date()


def _choose(request: MemberRequest, athlete: Athlete, form: DayForm, status: HTTPStatus) -> HttpResponse:
    return render_page(request, "skills/proofs/choose.html", {"athlete": athlete, "form": form}, status=status)


def _day_words(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


@dataclass(frozen=True, slots=True)
class StepWords:
    """A step of the day in words; `decisions` are those that stood when it ended."""

    name: str
    stands: str
    decisions: tuple[str, ...]
    practised: str
    criterion: str


def _step(step: StepOfDay, found: Proof, terms: wording.Terms) -> StepWords:
    account = step.account
    return StepWords(
        name=f"{step.page.label} {step.page.name}",
        stands="; ".join(_stands(step, terms)) or "not in the gym's book yet",
        decisions=tuple(_decision(each, found, terms) for each in step.in_force) or _undecided(step),
        practised=_practised(step.tries) if step.tries else "",
        criterion=criterion_words(account, step.page, terms) if account else "",
    )


def _stands(step: StepOfDay, terms: wording.Terms) -> Iterator[str]:
    for place, stretch in enumerate(step.stretches):
        since = f"from {clock(stretch.from_us, terms)[-5:]} " if place else ""
        yield f"{since}{_cleared(step, stretch)}"


def _cleared(step: StepOfDay, stretch: Stretch) -> str:
    state = wording.STATES[stretch.state]
    if step.rule and not step.rule.asks_clearance:
        return f"{state}, asks for no clearance" if stretch == step.stretches[0] else state
    return f"{f'cleared: {wording.CLEARANCES[stretch.clearance]}' if stretch.clearance else 'no clearance'} ({state})"


def _undecided(step: StepOfDay) -> tuple[str, ...]:
    decided = step.rule is None or step.rule.asks_clearance or step.rule.needs_sign_off
    return ("no decision stood",) if decided else ()


def _decision(each: SignOff, found: Proof, terms: wording.Terms) -> str:
    by = found.rows.sign_offs[each.id].signed_by.person.full_name
    clearance = f", {wording.CLEARANCES[each.clearance]}" if each.clearance else ""
    what = f"{GATES[each.gate]}: {DECISIONS[each.decision]}{clearance}"
    when = clock(each.happened_us, terms)
    return f"{what}; {by}, {when}, under criterion {each.criterion_version}, on {_evidence(each, found, terms)}"


def _evidence(each: SignOff, found: Proof, terms: wording.Terms) -> str:
    attempts = sorted(
        (found.attempts[attempt] for attempt in each.evidence if attempt in found.attempts),
        key=lambda attempt: (attempt.happened_us, attempt.id),
    )
    if not attempts:
        return "no attempts"
    days = [terms.day(attempt.happened_us) for attempt in attempts]
    results = (result_words(attempt, found.pages[attempt.step]) for attempt in attempts)
    named = ", ".join(f"{result} ({day})" for result, day in zip(results, days, strict=True))
    summed = f"{len(attempts)} attempts from {days[0]} to {days[-1]}"
    return f"{named if len(attempts) <= _MOST_NAMED else summed} [{digest_of(each.evidence)}]"


def _practised(tries: DayTries) -> str:
    parts = [f"{wording.counted(tries.standing, 'attempt')}: {tries.judged} judged, {tries.clean} clean"]
    parts += [f"{tries.taken_back} taken back"] if tries.taken_back else []
    parts += [f"{tries.late} entered after the day"] if tries.late else []
    return f"{', '.join(parts)} [{tries.digest}]"


def _learned(step: StepOfDay, found: Proof, terms: wording.Terms) -> Iterator[str]:
    """Tell what was recorded about the day after it, and what was revoked since."""
    name = f"{step.page.label} {step.page.name}"
    for sentence in learned(step.hindsight):
        yield f"{name}: {sentence}"
    for each in step.revoked:
        by = found.rows.sign_offs[each.id].signed_by.person.full_name
        yield f"{name}: “{GATES[each.gate]}” was revoked on {clock(each.happened_us, terms)} by {by}."


def _session(session: SessionOfDay) -> str:
    heads = f"{wording.counted(session.athletes, 'athlete')}, {wording.counted(session.coaches, 'coach', 'coaches')}"
    began = timezone.localtime(session.starts_at)
    return f"{session.name}, {began:%H:%M}, {session.coach}: {heads}; number of bars {NOT_RECORDED}"


def _staff(line: StaffOfDay, found: Proof, day: date) -> dict[str, object]:
    return {
        "name": line.name,
        "acts": ", ".join(line.acts),
        "on": "" if line.on == day else _day_words(line.on),
        "rights": _rights(line, {page.skill_slug: page.skill_name for page in found.pages.values()}),
        "certificates": [_certificate(words, held) for words, held in line.certificates],
    }


def _rights(line: StaffOfDay, skills: Mapping[str, str]) -> str:
    """Say what somebody might do then; of the right to sign off for which skills, where it was not for all."""
    if line.rights is None:
        return f"rights {NOT_RECORDED}"
    words = [words for right, words in _RIGHTS.items() if right in line.rights]
    if line.sign_off_skills:
        names = ", ".join(sorted(skills.get(slug, slug) for slug in line.sign_off_skills))
        words[words.index("sign off")] += f" ({names} only)"
    return f"may {', '.join(words)}" if words else "no rights then"


def _certificate(words: str, line: CertificateLine | None) -> str:
    if line is None:
        return f"{words}: {NOT_RECORDED}"
    until = f"until {_day_words(line.valid_until)}" if line.valid_until else "without end"
    if line.good:
        return f"{words}: valid {until}"
    return f"{words}: lapsed, was valid {until}" if line.lapsed else f"{words}: from {_day_words(line.valid_from)} only"


def _consent(words: str, line: ConsentLine | None, athlete: Athlete, day: date) -> str:
    if line is None:
        return f"{words}: {NOT_RECORDED}"
    said = "given" if line.given else "withdrawn"
    by = "a guardian" if line.said_by == "guardian" else "the athlete"
    on = _day_words(timezone.localtime(line.at).date())
    void = line.given and not line.counts_for(athlete.standing(day))
    return f"{words}: {said} by {by} on {on}" + (", who did not decide that day" if void else "")
