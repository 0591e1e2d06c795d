import pytest

from skills.core.criteria import parse
from skills.core.steps import CriterionInForce, CycleError, UnknownStepError
from tests.core.notebook import rules, step


def in_words(*names):
    return {"all": [{"step": name} for name in names]}


def test_order_puts_each_step_after_those_it_requires_or_asks_for_with_ties_by_code():
    book = rules(step("d", requires=("c",)), step("c", in_words("a")), step("b"), step("a", requires=("z",)), step("z"))
    assert book.order == ("b", "z", "a", "c", "d")


def test_dependents_are_the_steps_that_require_it_or_ask_for_it():
    book = rules(step("a"), step("c", requires=("a",)), step("b", in_words("a")), step("d", requires=("c",)))
    assert book.dependents("a") == ("b", "c")
    assert book.dependents("c") == ("d",)
    assert book.dependents("d") == ()


@pytest.mark.parametrize(
    ("steps", "cycle"),
    [
        ([step("a", requires=("a",))], ("a", "a")),
        ([step("a", requires=("b",)), step("b", requires=("a",))], ("a", "b", "a")),
        ([step("c", requires=("b",)), step("b", in_words("d")), step("d", requires=("c",))], ("b", "d", "c", "b")),
        # "a" only hangs on the cycle and is not part of it.
        ([step("a", requires=("b",)), step("b", requires=("c",)), step("c", requires=("b",))], ("b", "c", "b")),
    ],
)
def test_steps_that_wait_for_one_another_are_named(steps, cycle):
    with pytest.raises(CycleError) as refused:
        _ = rules(step("free"), *steps).order
    assert refused.value.cycle == cycle
    assert str(refused.value) == f"These steps wait for one another: {' → '.join(cycle)}."


def test_step_that_builds_on_an_unknown_one_is_named():
    with pytest.raises(UnknownStepError) as refused:
        _ = rules(step("a", requires=("b",))).order
    assert (refused.value.step, refused.value.unknown) == ("a", "b")
    assert str(refused.value) == "The step 'a' builds on 'b', which is not among the steps."


def test_hazard_runs_on_along_requirements_and_not_along_criteria():
    book = rules(
        step("hang"),
        step("inverted", requires=("hang",), inverted=True),
        step("over the bar", requires=("inverted",)),
        step("further", requires=("over the bar",)),
        step("asks for it", in_words("inverted")),
    )
    assert [code for code in book.order if book.hazard(code)] == ["inverted", "over the bar", "further"]


def test_step_is_always_open_only_without_requirement_and_clearance():
    assert step().always_open
    assert not step(requires=("b",)).always_open
    assert not step(asks_clearance=True).always_open


def test_parents_are_required_or_asked_for_by_any_version_of_the_criterion():
    versions = (
        CriterionInForce(1, 0, parse(in_words("x", "y"))),
        CriterionInForce(2, 9, parse({"any": [{"step": "w"}, {"holds": {"count": 1, "seconds": 5}}]})),
    )
    assert step(requires=("y", "v"), criteria=versions).parents == ("v", "w", "x", "y")


def test_criterion_in_force_is_the_latest_begun_and_of_those_the_highest_version():
    versions = tuple(
        CriterionInForce(number, from_us, parse({"step": f"{number}"}))
        for number, from_us in [(1, 10), (2, 20), (4, 20), (3, 30)]
    )
    rule = step(criteria=versions)
    found = [rule.in_force_at(us) for us in (9, 10, 19, 20, 29, 30)]
    assert [version.version if version else None for version in found] == [None, 1, 1, 4, 4, 3]
