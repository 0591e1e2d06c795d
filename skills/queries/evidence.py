"""What a decision rests on, and what was decided: attempts, sign-offs and cautions of one athlete."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Max, Q, QuerySet

from athletes.models import Athlete, Caution, Gym, Remark
from athletes.services.remarks import commitment
from skills.core.criteria import Criterion
from skills.core.days import moment_us
from skills.core.readiness import StepStanding
from skills.core.timeline import Change
from skills.models import Attempt, SignOff
from skills.queries.books import Book, StepPage
from skills.queries.cautions import cautions_active
from skills.queries.standings import Waiting, gate_evidence, next_step, standing_of
from skills.queries.timelines import Timelines, kept_timelines

_PASSED = ("passed", "recheck")


@dataclass(frozen=True, slots=True)
class GateCase:
    """Everything that a coach looks at before a decision at a gate.

    `attempts` are the newest first: those that the decision rests on (their ids in `evidence`) and some around
    them. `possible` are the decisions that fit how the athlete stands. `decided` is the history, newest first.
    """

    athlete: Athlete
    page: StepPage
    gate: str
    standing: StepStanding
    criterion: Criterion | None
    required: tuple[tuple[StepPage, Change], ...]
    attempts: tuple[Attempt, ...]
    evidence: frozenset[str]
    cautions: tuple[Caution, ...]
    possible: tuple[str, ...]
    decided: tuple[SignOff, ...]


def gate_case(book: Book, athlete: Athlete, page: StepPage, gate: str, now: datetime) -> GateCase:
    """Return the case of one athlete at one gate, in a fixed number of queries."""
    rule = book.rules.steps[page.code]
    in_force = rule.in_force_at(moment_us(now))
    _, evidence = gate_evidence(book, athlete, page.code, gate, now)
    at_finish = gate == SignOff.Gate.FINISH
    steps = [page.id] if at_finish else [book.steps[code].id for code in rule.requires]
    standings = standing_of(book, athlete, now).steps
    return GateCase(
        athlete=athlete,
        page=page,
        gate=gate,
        standing=standings[page.code],
        criterion=in_force.criterion if in_force else None,
        required=tuple((book.steps[code], standings[code].now) for code in rule.requires),
        attempts=tuple(_around(athlete, steps, evidence)),
        evidence=frozenset(evidence),
        cautions=tuple(c for c in cautions_active([athlete.id], now) if rule.loads.intersection(c.loads)),
        possible=_possible(book, page.code, gate, {code: standings[code].now for code in (page.code, *rule.requires)}),
        decided=tuple(decisions_of(athlete).filter(step=page.id)),
    )


def _around(athlete: Athlete, steps: Collection[UUID], evidence: Collection[str], more: int = 10) -> list[Attempt]:
    """Return the evidence and the last few other tries at these steps that stand, the newest first."""
    rows = Attempt.objects.filter(gym=athlete.gym_id, athlete=athlete, void=None).select_related(
        "logged_by__person", "void"
    )
    newest = rows.filter(step__in=steps).order_by("-happened_at", "-pk").values("pk")[:more]
    recent = [row["pk"] for row in newest]
    return list(rows.filter(Q(pk__in=evidence) | Q(pk__in=recent)).order_by("-happened_at", "-pk"))


def _possible(book: Book, code: str, gate: str, standing: Mapping[str, Change]) -> tuple[str, ...]:
    """Return the decisions that the gate takes now, in the order of a form; the service has the last word."""
    rule, base = book.rules.steps[code], standing[code].base
    if gate == SignOff.Gate.ENTRANCE:
        decidable = rule.asks_clearance and all(standing[r].base == "passed" for r in rule.requires)
        behind = base != "closed" and rule.asks_clearance
    else:
        decidable = rule.needs_sign_off and base in {"ready", *_PASSED}
        behind = base in _PASSED
    return (*(("passed", "not_yet") if decidable else ()), *(("revoked",) if behind else ()))


def is_decided(athlete: Athlete, form_id: str) -> bool:
    """Whether the decision of a form with that id is stored; a text that is no id is nobody's."""
    try:
        return SignOff.objects.filter(athlete=athlete, pk=UUID(form_id)).exists()
    except ValueError:
        return False


def decisions_of(athlete: Athlete) -> QuerySet[SignOff]:
    """Return the decisions about an athlete, the newest first."""
    rows = SignOff.objects.filter(athlete=athlete).select_related("signed_by__person", "criterion")
    return rows.order_by("-happened_at", "-pk")


def not_yet_since(book: Book, waiting: Collection[Waiting]) -> Mapping[tuple[UUID, str, str], datetime]:
    """Return when a coach last said "not yet" at gates that waited already; one query.

    Keys are (athlete id, step code, gate).
    """
    since = {(item.athlete.id, item.page.code, str(item.now.awaits)): item.now.from_us for item in waiting}
    rows = (
        SignOff.objects.filter(athlete__in={key[0] for key in since}, decision=SignOff.Decision.NOT_YET)
        .values_list("athlete_id", "step_id", "gate")
        .annotate(last_at=Max("happened_at"))
    )
    found = {(athlete_id, book.codes[step_id], gate): last_at for athlete_id, step_id, gate, last_at in rows}
    return {key: at for key, at in found.items() if key in since and moment_us(at) >= since[key]}


def remarks_by_commitment(gym: Gym, about: Collection[UUID]) -> Mapping[str, str]:
    """Return the texts about these facts, by the commitment that the fact holds; erased ones are not there."""
    rows = Remark.objects.filter(gym=gym, about__in=about)
    return {commitment(row.salt, row.text): row.text for row in rows}


def recent_attempts(athlete: Athlete, limit: int) -> list[Attempt]:
    """Return an athlete's last attempts, those taken back included, the newest first."""
    rows = Attempt.objects.filter(athlete=athlete).select_related("logged_by__person", "void__voided_by__person")
    return list(rows.order_by("-happened_at", "-pk")[:limit])


@dataclass(frozen=True, slots=True)
class SkillRecord:
    """How an athlete stands at the steps of one skill with which something is happening; empty where nothing is."""

    name: str
    steps: tuple[tuple[StepPage, StepStanding], ...]


def record_of(book: Book, athlete: Athlete, now: datetime) -> list[SkillRecord]:
    """Return the athlete's record skill by skill: steps with facts or consequences of such, and the next step."""
    standings = standing_of(book, athlete, now).steps
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    waiting = {code for code in book.steps if kept[code].at(moment_us(now)).awaits}
    shown = _happening(book, kept, athlete) | waiting | {next_step(book, kept, now) or ""}
    skills: dict[str, list[tuple[StepPage, StepStanding]]] = {}
    for code, page in book.steps.items():
        steps = skills.setdefault(page.skill_name, [])
        if code in shown:
            steps.append((page, standings[code]))
    return [SkillRecord(name, tuple(steps)) for name, steps in skills.items()]


def _happening(book: Book, kept: Timelines, athlete: Athlete) -> set[str]:
    tried = Attempt.objects.filter(athlete=athlete).order_by().values_list("step_id", flat=True).distinct()
    return {*kept, *(book.codes[step_id] for step_id in tried)}
