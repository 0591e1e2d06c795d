"""Findings as sentences: the one place where the engine's facts become words.

Pages, the API and commands all tell it from here, so that they say the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import singledispatch
from typing import Final

from skills.core import criteria, facts, findings
from skills.core.conditions import Aim, Bound
from skills.core.days import local_date
from skills.core.reliability import shown_percent
from skills.core.timeline import Change
from skills.library.texts import Dose
from skills.queries.books import Book, StepPage


@dataclass(frozen=True, slots=True)
class Terms:
    """What sentences need of a gym: the names of its steps, and its days."""

    step_name: Callable[[str], str]
    zone: str
    grades: tuple[str, ...] = ()

    def of_step(self, page: StepPage) -> Terms:
        """Return the same terms with the names of a step's grades."""
        return replace(self, grades=page.grades)

    def grade(self, rank: int) -> str:
        """Return the name of a grade, or its number where the step has no names for it."""
        return self.grades[rank - 1] if 0 < rank <= len(self.grades) else str(rank)

    def day(self, us: int) -> str:
        """Return the gym's day of a moment, as '3 Nov 2026'."""
        day = local_date(us, self.zone)
        return f"{day.day} {day:%b %Y}"


def terms_of(book: Book) -> Terms:
    """Return the terms of a gym's book."""
    return Terms(lambda code: f"{book.steps[code].label} {book.steps[code].name}", book.rules.zone)


STATES: Final[Mapping[str, str]] = {
    "closed": "closed",
    "working": "working on it",
    "ready": "ready for sign-off",
    "passed": "passed",
    "recheck": "check again",
    "paused": "paused",
}
CLEARANCES: Final[Mapping[str, str]] = {
    "": "no clearance",
    "spotted": "spotted",
    "present": "coach present",
    "alone": "alone",
}
FLAGS: Final[Mapping[str, str]] = {
    "evidence_voided": "an attempt that the sign-off rests on was taken back",
    "not_met_in_hindsight": "with what is known now, the criterion was not met at the sign-off",
    "prerequisite_fell": "a step that leads here no longer stands as passed",
}
ASSISTANCES: Final[Mapping[str, str]] = {
    "none": "no help",
    "band": "band",
    "spot": "spotted lift",
    "box": "box",
    "feet": "feet help",
}
SOURCES: Final[Mapping[str, str]] = {
    "judged": "judged",
    "counted": "counted",
    "timed_only": "timed only",
    "own": "own entry",
}

DOUBTS: Final[Mapping[str, str]] = {
    "slept": "the device slept meanwhile",
    "hidden": "the page was hidden meanwhile",
}


def measured(source: str, doubt: str) -> str:
    """Return who vouches for a result: 'judged', 'timed only (the device slept meanwhile)'."""
    return f"{SOURCES[source]} ({DOUBTS.get(doubt, doubt)})" if doubt else SOURCES[source]


def seconds(tenths: int) -> str:
    """Return a length of tenths as '5 s' or '19.9 s'."""
    whole, rest = divmod(tenths, 10)
    return f"{whole}.{rest} s" if rest else f"{whole} s"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return '1 hold', '3 holds'."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def result(hold_tenths: int | None, reps: int, *, unbroken: bool = True, angle_degrees: int | None = None) -> str:
    """Return a result as '3 × 5.2 s', '5.2 s at 90°', '4 reps' or '4 reps, broken'."""
    at = "" if angle_degrees is None else f" at {angle_degrees}°"
    if hold_tenths is None:
        return counted(reps, "rep") + at + ("" if unbroken or reps == 1 else ", broken")
    return (seconds(hold_tenths) if reps == 1 else f"{reps} × {seconds(hold_tenths)}") + at


def missing_sentence(missing: tuple[findings.Finding, ...], terms: Terms) -> str:
    """Return all that is missing as one line; 'nothing' where nothing is."""
    return "; ".join(missing_sentences(missing, terms)) or "nothing"


def missing_sentences(missing: Iterable[findings.Finding], terms: Terms) -> list[str]:
    """Return all that is missing, one line for each thing to do: 'one more clean hold of 5 s, on another day'."""
    lines: list[str] = []
    for finding in missing:
        told = sentence(finding, terms)
        if lines and isinstance(finding, _NARROW) and finding.aim is None:
            lines[-1] += f", {told}"
        else:
            lines.append(told)
    return lines


_NARROW: Final = (findings.TooFewSessions, findings.TooFewDates)  # they go on with the finding before them


@singledispatch
def sentence(finding: findings.Finding, terms: Terms) -> str:
    """Return one finding in a few words; `terms` know the gym's steps and days."""
    message = f"no words for {finding!r} ({terms})"
    raise TypeError(message)


@sentence.register
def _(finding: findings.TooFewHolds, _terms: Terms) -> str:
    return _more(finding.needed - finding.counted, criteria.HoldTarget(finding.tenths), clean=finding.clean)


@sentence.register
def _(finding: findings.TooFewSets, _terms: Terms) -> str:
    aim = criteria.RepsTarget(finding.reps, finding.unbroken)
    return _more(finding.needed - finding.counted, aim, clean=finding.clean)


@sentence.register
def _(finding: findings.TooFewSessions, _terms: Terms) -> str:
    more = finding.needed - finding.counted
    where = "in another session" if more == 1 else f"in {number_word(more)} more sessions"
    return f"{_more(more, finding.aim, clean=finding.clean)}, {where}" if finding.aim else where


@sentence.register
def _(finding: findings.TooFewDates, _terms: Terms) -> str:
    more = finding.needed - finding.counted
    when = "on another day" if more == 1 else f"on {number_word(more)} more days"
    return f"{_more(more, finding.aim, clean=finding.clean)}, {when}" if finding.aim else when


@sentence.register
def _(finding: findings.TooShort, _terms: Terms) -> str:
    best = f" (best so far {seconds(finding.best_tenths)})" if finding.best_tenths else ""
    return f"one {_success(criteria.HoldTarget(finding.needed_tenths), 1, clean=finding.clean)}{best}"


@sentence.register
def _(finding: findings.TooFewReps, _terms: Terms) -> str:
    best = f" (best so far {finding.best})" if finding.best else ""
    return f"one {_success(criteria.RepsTarget(finding.needed, finding.unbroken), 1, clean=finding.clean)}{best}"


@sentence.register
def _(finding: findings.TooFewCleanOfLast, _terms: Terms) -> str:
    of_last = f"{number_word(finding.needed)} of the last {number_word(finding.of)} tries"
    return f"{of_last} a {_success(finding.aim, 1, clean=True)} (now {number_word(finding.counted)})"


@sentence.register
def _(finding: findings.TooFewAngles, _terms: Terms) -> str:
    aim = criteria.AngleTarget(finding.degrees, finding.bound, finding.tenths)
    best = "" if finding.best_degrees is None else f" (nearest so far {finding.best_degrees}°)"
    return _more(finding.needed - finding.counted, aim, clean=finding.clean) + best


@sentence.register
def _(finding: findings.TooUnreliable, _terms: Terms) -> str:
    more = f"{_more(finding.more, finding.aim, clean=finding.clean)}{'' if finding.more == 1 else ' in a row'}"
    shown = shown_percent(finding.good, finding.of, finding.confidence)
    so_far = f"{finding.good} of {counted(finding.of, 'try', 'tries')} so far show {shown} %"
    return f"{more} ({so_far}, {finding.needed_percent} % is asked)"


@sentence.register
def _(finding: findings.StepNotPassed, terms: Terms) -> str:
    return f"pass {terms.step_name(finding.step)}"


@sentence.register
def _(finding: findings.OneOf, terms: Terms) -> str:
    return "either " + ", or ".join(missing_sentence(option, terms) for option in finding.options)


@sentence.register
def _(finding: findings.SomeOf, terms: Terms) -> str:
    options = ", or ".join(f"({missing_sentence(option, terms)})" for option in finding.options)
    return f"{number_word(finding.count)} of: {options}"


@sentence.register
def _(finding: findings.PrerequisiteMissing, terms: Terms) -> str:
    return f"first pass {terms.step_name(finding.step)}"


@sentence.register
def _(_finding: findings.NeedsClearance, _terms: Terms) -> str:
    return "a coach's clearance to try it"


@sentence.register
def _(_finding: findings.NeedsSignOff, _terms: Terms) -> str:
    return "a coach's sign-off"


@sentence.register
def _(finding: findings.Paused, terms: Terms) -> str:
    loads = ", ".join(load.replace("_", "-") for load in finding.loads)
    until = f" until {terms.day(finding.until_us)}" if finding.until_us is not None else " until it is lifted"
    return f"paused by a caution (no {loads}){until}"


@sentence.register
def _(finding: findings.DueForRecheck, terms: Terms) -> str:
    ways = [f"one {_success(showing.aim, 1, clean=showing.clean)}" for showing in finding.showings]
    shown = ", or ".join(ways) or "a coach's sign-off"
    return f"{shown}, to show it again (due since {terms.day(finding.since_us)})"


@sentence.register
def _(finding: findings.Flagged, _terms: Terms) -> str:
    return "for the coach to look at: " + ", ".join(FLAGS[flag] for flag in finding.flags)


_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def number_word(value: int) -> str:
    """Return 'three', and figures from eleven on."""
    return _NUMBERS[value] if value < len(_NUMBERS) else str(value)


def angle_words(degrees: int, bound: Bound) -> str:
    """Return the angle that is asked for."""
    return f"{degrees}° or {'more' if bound == 'at_least' else 'less'}"


def _more(more: int, aim: Aim, *, clean: bool) -> str:
    """Return 'one more clean hold of 5 s', 'two more sets of 3 reps'."""
    return f"{number_word(more)} more {_success(aim, more, clean=clean)}"


def _success(aim: Aim, number: int, *, clean: bool) -> str:
    """Return what one try, or each of several, has to be: 'clean hold of 5 s'."""
    quality = "clean " if clean else ""
    many = "" if number == 1 else "s"
    match aim:
        case criteria.HoldTarget(tenths):
            return f"{quality}hold{many} of {seconds(tenths)}"
        case criteria.RepsTarget(reps, unbroken):
            return f"{quality}set{many} of {counted(reps, 'rep')}{' unbroken' if unbroken and reps > 1 else ''}"
        case criteria.AngleTarget(degrees, bound, tenths):
            held = f", held for {seconds(tenths)}" if tenths else ""
            return f"{quality}{'try' if number == 1 else 'tries'} at {angle_words(degrees, bound)}{held}"


TRADE_PRACTICE: Final[Mapping[str, str]] = {
    "spotting": "spotting",
    "rest": "the rests",
    "gates": "what has to come first",
    "mats": "the mats",
    "getting_down": "getting down",
}


def dose(plan: Dose) -> str:
    """Return a week's practice as '3 sets of 3 holds of 5 s, 10 s rest in between, on 3 days a week'."""
    days = "one day" if plan.days_a_week == 1 else f"{plan.days_a_week} days"
    return f"{_amount(plan)}, {_rest(plan.rest_seconds)} rest in between, on {days} a week"


def dose_today(plan: Dose) -> str:
    """Return what of a dose is done on one day: '3 sets of 3 holds of 5 s, 10 s rest'."""
    return f"{_amount(plan)}, {_rest(plan.rest_seconds)} rest"


def _amount(plan: Dose) -> str:
    if plan.hold_seconds is None:
        return f"{counted(plan.sets, 'set')} of {counted(plan.reps, 'rep')}"
    holds = counted(plan.sets, "hold")
    if plan.reps > 1:
        holds = f"{counted(plan.sets, 'set')} of {counted(plan.reps, 'hold')}"
    return f"{holds} of {plan.hold_seconds} s"


def _rest(total_seconds: int) -> str:
    minutes, rest = divmod(total_seconds, 60)
    if minutes < 2:  # noqa: PLR2004 (people say 90 s, and 2 min)
        return f"{total_seconds} s"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def why_next(now: Change, opened_us: int | None, requires: Iterable[str], terms: Terms) -> str:
    """Return in a sentence why a step is an athlete's next one: how it came to be open, or what it waits for."""
    if now.base == "recheck":
        return "It was passed before and is due to be shown again."
    if now.base == "ready":
        return "Its criterion is met: a coach's sign-off finishes it."
    names = " and ".join(terms.step_name(code) for code in requires)
    if not opened_us:
        return "Nothing has to come before it."
    return f"Open since {terms.day(opened_us)}: {names or 'a clearance'} came first."


def how_done(attempt: facts.Attempt, page: StepPage) -> str:
    """Return how a try was done: 'clean', or the faults by name, and what help it had."""
    faults, checkpoints = page.fault_names, page.checkpoint_names
    parts = [faults.get(code, code) for code in sorted(attempt.faults)]
    parts += [f"missed: {checkpoints.get(code, code).rstrip('.')}" for code in sorted(attempt.missed)]
    parts += ["pain"] if attempt.pain else []
    parts = parts or ["clean"]
    if attempt.assistance != facts.UNASSISTED:
        parts.append(f"help: {ASSISTANCES.get(attempt.assistance, attempt.assistance)}")
    if attempt.variant:
        parts.append(page.variant_names.get(attempt.variant, attempt.variant))
    return ", ".join(parts)
