"""Criteria as sentences: what a rule asks for, as a coach would say it."""

from __future__ import annotations

from functools import singledispatch

from skills.core import criteria
from skills.wording import ASSISTANCES, SOURCES, Terms, angle_words, counted, number_word, seconds


@singledispatch
def rule(criterion: criteria.Criterion, terms: Terms) -> str:
    """Return a criterion as a sentence: 'three clean judged holds of 5 s or longer, on two days'."""
    message = f"no words for {criterion!r} ({terms})"
    raise TypeError(message)


@rule.register
def _(criterion: criteria.HoldsOf, terms: Terms) -> str:
    noun = "hold" if criterion.count == 1 else "holds"
    what = (
        f"{number_word(criterion.count)} {_quality(criterion.counting)}{noun} of {seconds(criterion.tenths)} or longer"
    )
    return what + _limits(criterion.counting, terms)


@rule.register
def _(criterion: criteria.RepsOf, terms: Terms) -> str:
    noun = "set" if criterion.count == 1 else "sets"
    reps = counted(criterion.reps, "rep") + (" unbroken" if criterion.unbroken and criterion.reps > 1 else "")
    what = f"{number_word(criterion.count)} {_quality(criterion.counting)}{noun} of {reps} or more"
    return what + _limits(criterion.counting, terms)


@rule.register
def _(criterion: criteria.BestOf, terms: Terms) -> str:
    return f"one {_quality(criterion.counting)}{_target(criterion.target)}{_limits(criterion.counting, terms)}"


@rule.register
def _(criterion: criteria.LastOf, terms: Terms) -> str:
    quality = _quality(criterion.counting).replace("clean ", "")
    what = f"{number_word(criterion.clean)} clean of the last {number_word(criterion.of)} {quality}tries"
    return f"{what}, each a {_target(criterion.target)}{_limits(criterion.counting, terms)}"


@rule.register
def _(criterion: criteria.AngleOf, terms: Terms) -> str:
    noun = "try" if criterion.count == 1 else "tries"
    what = f"{number_word(criterion.count)} {_quality(criterion.counting)}{noun}"
    held = f", held for {seconds(criterion.tenths)} or longer" if criterion.tenths else ""
    return f"{what} with the angle at {angle_words(criterion.degrees, criterion.bound)}{held}" + _limits(
        criterion.counting, terms
    )


@rule.register
def _(criterion: criteria.ReliabilityOf, terms: Terms) -> str:
    clean = "clean rate" if criterion.counting.clean else "rate"
    judged = "judged " if criterion.counting.who == {"judged"} else ""
    last = f"the last {number_word(criterion.of)}" if criterion.of else "all"
    tries = f"{last} {judged}{'try' if criterion.of == 1 else 'tries'}"
    what = f"a {clean} of at least {criterion.percent} % ({criterion.confidence} % interval) over {tries}"
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


@rule.register
def _(criterion: criteria.AtLeastOf, terms: Terms) -> str:
    parts = ", or ".join(_nested(child, terms) for child in criterion.conditions)
    return f"at least {number_word(criterion.count)} of: {parts}"


def _nested(criterion: criteria.Criterion, terms: Terms) -> str:
    text = rule(criterion, terms)
    return f"({text})" if isinstance(criterion, criteria.Branch) else text


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
        parts.append(f"in {number_word(counting.sessions)} sessions")
    if counting.dates > 1:
        parts.append(f"on {number_word(counting.dates)} days")
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
