"""Prerequisites across skill files: they exist, their codes are unique, and no step waits for itself."""

import json

import pytest

from skills.library import LibraryError, read_library
from skills.library.graph import parents_of
from tests.skills.library.test_reading import STEP


def skill(slug: str, **requires: list[str]) -> tuple[str, str]:
    steps = [{**STEP, "code": code, "label": code, "requires": needed} for code, needed in requires.items()]
    return f"{slug}.yaml", json.dumps({"skill": slug, "name": slug, "purpose": slug, "steps": steps})


def problems_of(*files: tuple[str, str]) -> tuple[str, ...]:
    with pytest.raises(LibraryError) as caught:
        read_library(files)
    return caught.value.problems


def test_prerequisite_in_another_skill_is_found():
    skills = read_library([skill("one", a=["b"]), skill("two", b=[])])
    assert [each.skill for each in skills] == ["one", "two"]


def test_unknown_prerequisite_is_named_with_its_place():
    assert problems_of(skill("one", a=["nowhere"])) == ("one, step a, requires: there is no step “nowhere”.",)


def test_unknown_step_in_a_criterion_is_named():
    criterion = {"all": [{"any": [{"step": "nowhere"}]}, {"holds": {"count": 1, "seconds": 5}}]}
    text = json.dumps({"skill": "one", "name": "One", "purpose": "One.", "steps": [{**STEP, "criterion": criterion}]})
    assert problems_of(("one.yaml", text)) == ("one, step roll-1, criterion: there is no step “nowhere”.",)


def test_circle_is_told_step_by_step():
    (told,) = problems_of(skill("one", a=["c"], b=["a"]), skill("two", c=["b"]))
    assert told.startswith("These steps wait for each other in a circle: ")
    named = told.removesuffix(".").split(": ")[1].split(" → ")
    assert named[0] == named[-1]
    assert set(named) == {"a Rock", "b Rock", "c Rock"}


def test_step_that_waits_for_itself_is_a_circle():
    assert problems_of(skill("one", a=["a"])) == ("These steps wait for each other in a circle: a Rock → a Rock.",)


def test_criterion_that_names_its_own_step_is_a_circle():
    text = json.dumps(
        {
            "skill": "one",
            "name": "One",
            "purpose": "One.",
            "steps": [{**STEP, "criterion": {"step": "roll-1"}}],
        }
    )
    (told,) = problems_of(("one.yaml", text))
    assert told.endswith("in a circle: 1 Rock → 1 Rock.")


def test_code_and_slug_used_by_two_files_are_named():
    assert problems_of(skill("one", a=[]), skill("one", a=[])) == (
        "The skill “one” is there more than once.",
        "The step “a” is there more than once.",
    )


def test_problems_of_all_files_come_together():
    told = problems_of(("x.yaml", "skill: x\n"), ("y.yaml", "["))
    assert {line.split(",")[0].split(":")[0] for line in told} == {"x.yaml", "y.yaml"}


def test_parents_are_prerequisites_and_steps_named_by_the_criterion():
    criterion = {"any": [{"step": "b"}, {"step": "c"}]}
    text = json.dumps(
        {
            "skill": "one",
            "name": "One",
            "purpose": "One.",
            "steps": [
                {**STEP, "code": "a", "label": "a", "requires": ["b"], "criterion": criterion},
                {**STEP, "code": "b", "label": "b"},
                {**STEP, "code": "c", "label": "c"},
            ],
        }
    )
    (one,) = read_library([("one.yaml", text)])
    assert parents_of(one.steps[0]) == ("b", "c")
