"""The steps of many skills as one graph: codes met once, prerequisites that exist, no circle."""

from collections.abc import Iterator, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

from skills.library.texts import FileProblem, SkillText, StepText


def graph_problems(skills: Sequence[SkillText]) -> list[FileProblem]:
    """Each thing that is wrong between steps; none when all is well."""
    slugs = [skill.skill for skill in skills]
    codes = [step.code for skill in skills for step in skill.steps]
    return [
        *(_whole(f"The skill “{slug}” is there more than once.") for slug in _twice(slugs)),
        *(_whole(f"The step “{code}” is there more than once.") for code in _twice(codes)),
        *(problem for skill in skills for step in skill.steps for problem in _unknown(skill, step, codes)),
        *_circle([step for skill in skills for step in skill.steps]),
    ]


def parents_of(step: StepText) -> tuple[str, ...]:
    """The steps that ``step`` rests on: its prerequisites and the steps its criterion names, sorted."""
    return tuple(sorted({*step.requires, *_named(step.criterion)}))


def _whole(sentence: str) -> FileProblem:
    return FileProblem("", "", sentence)


def _twice(codes: Sequence[str]) -> list[str]:
    return sorted({code for code in codes if codes.count(code) > 1})


def _unknown(skill: SkillText, step: StepText, codes: Sequence[str]) -> Iterator[FileProblem]:
    here = f"{skill.skill}, step {step.code}"
    for code in step.requires:
        if code not in codes:
            yield FileProblem(here, "requires", f"there is no step “{code}”.")
    for code in _named(step.criterion):
        if code not in codes:
            yield FileProblem(here, "criterion", f"there is no step “{code}”.")


def _named(criterion: object) -> Iterator[str]:
    """Codes under a “step” key, at any depth of ``all``, ``any`` and ``at_least``."""
    if not isinstance(criterion, Mapping):
        return
    if isinstance(code := criterion.get("step"), str):
        yield code
    at_least = criterion.get("at_least")
    several = at_least.get("of") if isinstance(at_least, Mapping) else None
    for branches in (criterion.get("all"), criterion.get("any"), several):
        for branch in branches if isinstance(branches, list) else ():
            yield from _named(branch)


def _circle(steps: Sequence[StepText]) -> list[FileProblem]:
    try:
        TopologicalSorter({step.code: parents_of(step) for step in steps}).prepare()
    except CycleError as error:
        names = {step.code: f"{step.label} {step.name}" for step in steps}
        return [_whole(circle_sentence([names.get(code, code) for code in error.args[1]]))]
    return []


def circle_sentence(names: Sequence[str]) -> str:
    """Name steps that wait for each other; the first one stands again at the end."""
    return f"These steps wait for each other in a circle: {' → '.join(names)}."
