"""A coach's notebook: facts of 2026 as short notes, so that a table of cases can be read.

An attempt is ``"2 Mar 18:00, 20 s"``, with more words after it: ``fault``, ``missed``, ``pain``, ``band``,
``bent`` (a variant), ``own``, ``counted``, ``timed only``, ``session A``, ``grade 2``, ``broken``, ``closed try``,
``90°`` (a measured angle); ``3 x 5 s`` is three holds and ``4 reps`` a set.
"""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import count
from typing import Any, cast

from athletes.core.zones import zone_named
from skills.core.criteria import Criterion, parse
from skills.core.days import moment_us
from skills.core.facts import (
    Attempt,
    Caution,
    Clearance,
    Decision,
    Gate,
    History,
    Lift,
    Opening,
    SignOff,
    Void,
)
from skills.core.findings import Finding
from skills.core.readiness import evaluate
from skills.core.steps import CriterionInForce, Rules, StepRule
from skills.core.timeline import Change, Timeline

BERLIN = "Europe/Berlin"
PLAIN = Attempt(
    id="",
    step="a",
    happened_us=0,
    recorded_us=0,
    session="",
    hold_tenths=None,
    reps=1,
    unbroken=True,
    source="judged",
    assistance="none",
    variant="",
    faults=frozenset(),
    missed=frozenset(),
    pain=False,
    grade=0,
    closed_try=False,
)
WORDS: dict[str, dict[str, Any]] = {
    "own": {"source": "own"},
    "counted": {"source": "counted"},
    "timed only": {"source": "timed_only"},
    "fault": {"faults": frozenset({"pulling"})},
    "missed": {"missed": frozenset({"shoulders"})},
    "pain": {"pain": True},
    "band": {"assistance": "band"},
    "bent": {"variant": "knees bent"},
    "broken": {"unbroken": False},
    "closed try": {"closed_try": True},
}


def at(text: str, zone: str = BERLIN) -> int:
    """``"2 Mar 18:00"`` on the gym's clock in 2026 (seconds and microseconds may follow), or UTC with a Z."""
    form = "%d %b %H:%M" + (":%S" if text.count(":") > 1 else "") + (".%f" if "." in text else "")
    zone = "UTC" if text.endswith("Z") else zone
    naive = datetime.strptime(f"2026 {text.removesuffix('Z')}", f"%Y {form}")  # noqa: DTZ007 - placed below
    return moment_us(naive.replace(tzinfo=zone_named(zone)))


def attempt(text: str, *, id: str = "n1", step: str = "a", zone: str = BERLIN) -> Attempt:  # noqa: A002
    when, size, *words = text.split(", ")
    us = at(when, zone)
    noted = replace(PLAIN, id=id, step=step, happened_us=us, recorded_us=us)
    noted = _sized(noted, size)
    for word in words:
        noted = _worded(noted, word)
    return noted


def attempts(*texts: str, step: str = "a", zone: str = BERLIN) -> tuple[Attempt, ...]:
    """Attempts n1, n2, … in the order of the notes."""
    return tuple(attempt(text, id=f"n{number}", step=step, zone=zone) for number, text in enumerate(texts, start=1))


def _sized(noted: Attempt, size: str) -> Attempt:
    if found := re.fullmatch(r"(\d+) reps", size):
        return replace(noted, reps=int(found[1]))
    found = re.fullmatch(r"(?:(\d+) x )?(\d+)(?:\.(\d))? s", size)
    assert found, size
    return replace(noted, reps=int(found[1] or 1), hold_tenths=int(found[2]) * 10 + int(found[3] or 0))


def _worded(noted: Attempt, word: str) -> Attempt:
    if word.startswith("session "):
        return replace(noted, session=word)
    if word.startswith("grade "):
        return replace(noted, grade=int(word.removeprefix("grade ")))
    if word.endswith("°"):
        return replace(noted, angle_degrees=int(word.removesuffix("°")))
    return replace(noted, **WORDS[word])


def opening(when: str, step: str = "a") -> Opening:
    return Opening(f"open {step} {when}", step, at(when), at(when))


_numbers = count(1)


def sign_off(when: str, said: str, step: str = "a", evidence: tuple[str, ...] = ()) -> SignOff:
    """``said`` is such as ``"finish passed alone"`` or ``"entrance revoked"``."""
    gate, decision, *clearance = said.split()
    return SignOff(
        id=f"{next(_numbers):04} {step} {said}",
        step=step,
        gate=cast("Gate", gate),
        decision=cast("Decision", decision),
        clearance=cast("Clearance", clearance[0] if clearance else ""),
        criterion_version=1,
        evidence=evidence,
        happened_us=at(when),
        recorded_us=at(when),
    )


def caution(from_when: str, until_when: str | None = None, loads: str = "hang", id: str = "c1") -> Caution:  # noqa: A002
    until_us = None if until_when is None else at(until_when)
    return Caution(id, frozenset(loads.split()), at(from_when), until_us, at(from_when))


def lift(when: str, of: str = "c1") -> Lift:
    return Lift(of, at(when), at(when))


def void(*ids: str) -> tuple[Void, ...]:
    """Voids that came late, on the last day of the year: they reach back all the same."""
    return tuple(Void(each, at("31 Dec 12:00"), at("31 Dec 12:00")) for each in ids)


def step(
    code: str = "a",
    criterion: Criterion | object = None,
    *,
    requires: tuple[str, ...] = (),
    asks_clearance: bool = False,
    needs_sign_off: bool = False,
    recheck_days: int | None = None,
    loads: str = "hang",
    inverted: bool = False,
    criteria: tuple[CriterionInForce, ...] | None = None,
) -> StepRule:
    rule = parse(criterion) if isinstance(criterion, dict) else cast("Criterion", criterion)
    one = () if criterion is None else (CriterionInForce(1, 0, rule),)
    return StepRule(
        code=code,
        requires=requires,
        asks_clearance=asks_clearance,
        needs_sign_off=needs_sign_off,
        recheck_days=recheck_days,
        loads=frozenset(loads.split()),
        inverted=inverted,
        criteria=one if criteria is None else criteria,
    )


def rules(*steps: StepRule, zone: str = BERLIN) -> Rules:
    return Rules({each.code: each for each in steps}, zone)


def timeline_of(book: Rules, history: History, code: str = "a") -> Timeline:
    return evaluate(book, history, 0).steps[code].timeline


def change_at(book: Rules, history: History, when: str, code: str = "a") -> Change:
    return timeline_of(book, history, code).at(at(when))


def missing_at(book: Rules, history: History, when: str, code: str = "a") -> tuple[Finding, ...]:
    return evaluate(book, history, at(when)).steps[code].missing


def told(timeline: Timeline, zone: str = BERLIN) -> list[str]:
    """The bases of a timeline in turn, each with the local time from which it stands."""
    lines: list[str] = []
    for change in timeline.changes:
        if not lines or not lines[-1].endswith(f" {change.base}"):
            lines.append(f"{_clock(change.from_us, zone) if change.from_us else 'first'} {change.base}")
    return lines


def _clock(us: int, zone: str) -> str:
    moment = datetime(1970, 1, 1, tzinfo=zone_named("UTC")) + timedelta(microseconds=us)
    local = moment.astimezone(zone_named(zone))
    return f"{local.day} {local:%b %H:%M}"
