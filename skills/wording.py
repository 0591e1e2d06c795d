"""Findings and rules as sentences: the one place where the engine's facts become words.

Pages, the API and commands all tell it from here, so that they say the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import singledispatch
from typing import Final

from skills.core import criteria, facts, findings
from skills.core.days import local_date
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


def seconds(tenths: int) -> str:
    """Return a length of tenths as '5 s' or '19.9 s'."""
    whole, rest = divmod(tenths, 10)
    return f"{whole}.{rest} s" if rest else f"{whole} s"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return '1 hold', '3 holds'."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def result(hold_tenths: int | None, reps: int, *, unbroken: bool = True) -> str:
    """Return a result as '3 × 5.2 s', '5.2 s', '4 reps' or '4 reps, broken'."""
    if hold_tenths is None:
        return counted(reps, "rep") + ("" if unbroken or reps == 1 else ", broken")
    return seconds(hold_tenths) if reps == 1 else f"{reps} × {seconds(hold_tenths)}"


def missing_sentence(missing: tuple[findings.Finding, ...], terms: Terms) -> str:
    """Return all that is missing as one line; 'nothing' where nothing is."""
    return "; ".join(sentence(finding, terms) for finding in missing) or "nothing"


@singledispatch
def sentence(finding: findings.Finding, terms: Terms) -> str:
    """Return one finding in a few words; `terms` know the gym's steps and days."""
    message = f"no words for {finding!r} ({terms})"
    raise TypeError(message)


@sentence.register
def _(finding: findings.TooFewHolds, _terms: Terms) -> str:
    more = finding.needed - finding.counted
    return f"{more} more {'hold' if more == 1 else 'holds'} of {seconds(finding.tenths)}"


@sentence.register
def _(finding: findings.TooFewSets, _terms: Terms) -> str:
    more = finding.needed - finding.counted
    unbroken = " unbroken" if finding.unbroken and finding.reps > 1 else ""
    return f"{more} more {'set' if more == 1 else 'sets'} of {counted(finding.reps, 'rep')}{unbroken}"


@sentence.register
def _(finding: findings.TooFewSessions, _terms: Terms) -> str:
    more = finding.needed - finding.counted
    return "in another session" if more == 1 else f"in {more} more sessions"


@sentence.register
def _(finding: findings.TooFewDates, _terms: Terms) -> str:
    more = finding.needed - finding.counted
    return "on another day" if more == 1 else f"on {more} more days"


@sentence.register
def _(finding: findings.TooShort, _terms: Terms) -> str:
    best = f" (best so far {seconds(finding.best_tenths)})" if finding.best_tenths else ""
    return f"one hold of {seconds(finding.needed_tenths)}{best}"


@sentence.register
def _(finding: findings.TooFewReps, _terms: Terms) -> str:
    best = f" (best so far {finding.best})" if finding.best else ""
    return f"one set of {counted(finding.needed, 'rep')}{best}"


@sentence.register
def _(finding: findings.TooFewCleanOfLast, _terms: Terms) -> str:
    return f"{finding.needed} clean of the last {finding.of} (now {finding.counted})"


@sentence.register
def _(finding: findings.StepNotPassed, terms: Terms) -> str:
    return f"pass {terms.step_name(finding.step)}"


@sentence.register
def _(finding: findings.OneOf, terms: Terms) -> str:
    return "either " + ", or ".join(missing_sentence(option, terms) for option in finding.options)


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
    return f"not shown for a while: check it again (due since {terms.day(finding.since_us)})"


@sentence.register
def _(finding: findings.Flagged, _terms: Terms) -> str:
    return "for the coach to look at: " + ", ".join(FLAGS[flag] for flag in finding.flags)


_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def _number(value: int) -> str:
    return _NUMBERS[value] if value < len(_NUMBERS) else str(value)


@singledispatch
def rule(criterion: criteria.Criterion, terms: Terms) -> str:
    """Return a criterion as a sentence: 'three clean judged holds of 5 s or longer, on two days'."""
    message = f"no words for {criterion!r} ({terms})"
    raise TypeError(message)


@rule.register
def _(criterion: criteria.HoldsOf, terms: Terms) -> str:
    noun = "hold" if criterion.count == 1 else "holds"
    what = f"{_number(criterion.count)} {_quality(criterion.counting)}{noun} of {seconds(criterion.tenths)} or longer"
    return what + _limits(criterion.counting, terms)


@rule.register
def _(criterion: criteria.RepsOf, terms: Terms) -> str:
    noun = "set" if criterion.count == 1 else "sets"
    reps = counted(criterion.reps, "rep") + (" unbroken" if criterion.unbroken and criterion.reps > 1 else "")
    what = f"{_number(criterion.count)} {_quality(criterion.counting)}{noun} of {reps} or more"
    return what + _limits(criterion.counting, terms)


@rule.register
def _(criterion: criteria.BestOf, terms: Terms) -> str:
    return f"one {_quality(criterion.counting)}{_target(criterion.target)}{_limits(criterion.counting, terms)}"


@rule.register
def _(criterion: criteria.LastOf, terms: Terms) -> str:
    quality = _quality(criterion.counting).replace("clean ", "")
    what = f"{_number(criterion.clean)} clean of the last {_number(criterion.of)} {quality}tries"
    return f"{what}, each a {_target(criterion.target)}{_limits(criterion.counting, terms)}"


@rule.register
def _(criterion: criteria.StepPassed, terms: Terms) -> str:
    return f"{terms.step_name(criterion.step)} is passed"


@rule.register
def _(criterion: criteria.AllOf, terms: Terms) -> str:
    return ", and ".join(_nested(child, terms) for child in criterion.conditions)


@rule.register
def _(criterion: criteria.AnyOf, terms: Terms) -> str:
    return "either " + ", or ".join(_nested(child, terms) for child in criterion.conditions)


def _nested(criterion: criteria.Criterion, terms: Terms) -> str:
    text = rule(criterion, terms)
    return f"({text})" if isinstance(criterion, (criteria.AllOf, criteria.AnyOf)) else text


def _target(target: criteria.Target) -> str:
    if isinstance(target, criteria.HoldTarget):
        return f"hold of {seconds(target.tenths)} or longer"
    return f"set of {counted(target.reps, 'rep')}{' unbroken' if target.unbroken and target.reps > 1 else ''} or more"


def _quality(counting: criteria.Counting) -> str:
    words = ["clean"] if counting.clean else []
    if counting.who == {"judged"}:
        words.append("judged")
    return "".join(f"{word} " for word in words)


def _limits(counting: criteria.Counting, terms: Terms) -> str:
    parts = []
    if counting.grade_at_least:
        parts.append(f"graded {terms.grade(counting.grade_at_least)} or higher")
    if counting.sessions > 1:
        parts.append(f"in {_number(counting.sessions)} sessions")
    if counting.dates > 1:
        parts.append(f"on {_number(counting.dates)} days")
    if counting.window_days:
        parts.append(f"within {counted(counting.window_days, 'day')}")
    helps = sorted(counting.assistance - {"none"})
    if helps:
        parts.append("help allowed: " + ", ".join(ASSISTANCES.get(word, word) for word in helps))
    if not counting.variants:
        parts.append("no easier variant")
    if counting.who != {"judged"} and len(counting.who) < len(SOURCES):
        parts.append("entries that are " + " or ".join(SOURCES[word] for word in sorted(counting.who)))
    return "".join(f", {part}" for part in parts)


TRADE_PRACTICE: Final[Mapping[str, str]] = {
    "spotting": "spotting",
    "rest": "the rests",
    "gates": "what has to come first",
    "mats": "the mats",
    "getting_down": "getting down",
}


def dose(plan: Dose) -> str:
    """Return a week's practice as '3 sets of 3 holds of 5 s, 10 s rest in between, on 3 days a week'."""
    what = counted(plan.reps, "rep") if plan.hold_seconds is None else counted(plan.reps, "hold")
    if plan.hold_seconds is not None:
        what += f" of {plan.hold_seconds} s"
    days = "one day" if plan.days_a_week == 1 else f"{plan.days_a_week} days"
    return f"{counted(plan.sets, 'set')} of {what}, {_rest(plan.rest_seconds)} rest in between, on {days} a week"


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
    faults, checkpoints = dict(page.faults), dict(page.checkpoints)
    parts = [faults.get(code, code) for code in sorted(attempt.faults)]
    parts += [f"missed: {checkpoints.get(code, code).rstrip('.')}" for code in sorted(attempt.missed)]
    parts += ["pain"] if attempt.pain else []
    parts = parts or ["clean"]
    if attempt.assistance != facts.UNASSISTED:
        parts.append(f"help: {ASSISTANCES.get(attempt.assistance, attempt.assistance)}")
    if attempt.variant:
        parts.append(dict(page.variants).get(attempt.variant, attempt.variant))
    return ", ".join(parts)
