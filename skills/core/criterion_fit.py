"""Whether a criterion fits the step that it is for: what the step measures, its grades, and what leads to it."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from skills.core.entries import ASSISTANCES
from skills.core.form_fields import Problem, shown
from skills.core.steps import CycleError, Rules


@dataclass(frozen=True, slots=True)
class Fit:
    """A step as a criterion for it must take it.

    `angle` says in words which angle is measured, "" for none; `name` gives the name of a step of the gym by its
    code.
    """

    code: str
    is_hold: bool
    angle: str
    grades: int
    rules: Rules
    name: Callable[[str], str]


def misfits(data: object, fit: Fit) -> tuple[Problem, ...]:
    """Return every place where a written criterion does not fit the step, whether or not it can be read elsewhere."""
    return tuple(problem for word, body, path in _conditions(data, "") for problem in _of(word, body, path, fit))


def _conditions(data: object, path: str) -> Iterator[tuple[str, object, str]]:
    """Yield the kind, the body and the place of every condition that is no group."""
    if not isinstance(data, Mapping) or len(data) != 1:
        return
    [(word, body)] = data.items()
    place = f"{path}.{word}" if path else str(word)
    if word == "at_least":
        body, place = body.get("of") if isinstance(body, Mapping) else None, f"{place}.of"
    if word not in ("all", "any", "at_least"):
        yield str(word), body, place
    elif isinstance(body, list | tuple):
        for index, part in enumerate(body):
            yield from _conditions(part, f"{place}[{index}]")


def _of(word: str, body: object, path: str, fit: Fit) -> Iterator[Problem]:
    if word == "step":
        yield from (Problem(path, sentence) for sentence in _about_step(body, fit))
    elif isinstance(body, Mapping):
        yield from _about_measure(word, body, path, fit)
        yield from _about_tries(body, path, fit)


def _about_step(code: object, fit: Fit) -> Iterator[str]:
    if not isinstance(code, str) or not code:
        return
    if code == fit.code:
        yield "A step cannot wait for itself: choose another one."
    elif code not in fit.rules.steps:
        yield f"This gym has no step {shown(code)}: choose one of its steps."
    else:
        rule = fit.rules.steps[fit.code]
        waiting = replace(rule, requires=(*rule.requires, code))
        try:
            _ = Rules({**fit.rules.steps, fit.code: waiting}, fit.rules.zone).order
        except CycleError as error:
            yield f"These steps would wait for one another: {' → '.join(map(fit.name, error.cycle))}."


def _about_measure(word: str, body: Mapping[object, object], path: str, fit: Fit) -> Iterator[Problem]:
    in_reps, held = "This step is counted in reps", "This step is held"
    if word == "angle":
        if not fit.angle:
            yield Problem(path, "This step measures no angle: choose another kind, or say at the step which angle.")
        elif not fit.is_hold and body.get("seconds") is not None:
            yield Problem(f"{path}.seconds", f"{in_reps}: leave the seconds empty.")
    elif word == "holds" and not fit.is_hold:
        yield Problem(path, f"{in_reps}: no try at it is a hold. Choose sets of reps.")
    elif word == "reps" and fit.is_hold:
        yield Problem(path, f"{held}: no try at it is a set of reps. Choose holds.")
    elif word in ("best", "last", "reliability") and "seconds" in body and not fit.is_hold:
        yield Problem(f"{path}.seconds", f"{in_reps}: ask for reps, not seconds.")
    elif word in ("best", "last", "reliability") and "reps" in body and fit.is_hold:
        yield Problem(f"{path}.reps", f"{held}: ask for seconds, not reps.")


def _about_tries(body: Mapping[object, object], path: str, fit: Fit) -> Iterator[Problem]:
    grade, who, helps = (body.get(key) for key in ("grade_at_least", "who", "assistance"))
    if isinstance(grade, int) and grade > fit.grades:
        has = f"has {fit.grades} grades" if fit.grades else "is not graded"
        yield Problem(f"{path}.grade_at_least", f"This step {has}, so no try reaches grade {shown(grade)}.")
    if isinstance(helps, list | tuple):
        for help_ in helps:
            if help_ not in ASSISTANCES:
                yield Problem(f"{path}.assistance", f"No help is called {shown(help_)}.")
    if fit.rules.steps[fit.code].asks_clearance and isinstance(who, list | tuple) and who and "judged" not in who:
        yield Problem(f"{path}.who", "At this step only judged tries count: without them nobody ever gets there.")
