"""A class plan in sentences."""

import pytest

from skills.core.rotation.asks import Apart, Pin, Plan
from skills.core.rotation.bottlenecks import Bottleneck
from skills.showing.plan_words import bottleneck_words, left_out_words, listed, rule_words, worth_words

PEOPLE = {"a": "1 Ada", "b": "2 Bo"}
STATIONS = {"s": "low bar", "t": "rings"}


def plan(worth: int, bound: int, proof: str) -> Plan:
    return Plan((), {}, (), worth, bound, proof)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (plan(100, 100, "optimal"), "This is the best plan there is under these rules."),
        (plan(1000, 1008, "within"), "No plan under these rules can be more than 0.8 % better."),
        # Rounded up: what is said has to hold.
        (plan(3000, 3001, "within"), "No plan under these rules can be more than 0.1 % better."),
        (
            plan(800, 1000, "stopped"),
            "No plan under these rules can be more than 25 % better. The search was ended there.",
        ),
        (
            plan(-5, 60, "stopped"),
            "How much better a plan could be is not known. The search was ended there.",
        ),
    ],
)
def test_what_a_plan_is_worth(made, words):
    assert worth_words(made) == words


def test_people_in_turn_are_never_called_the_best():
    words = worth_words(plan(100, 100, "in_turn"))
    assert "take turns" in words
    assert "best" not in words


def test_a_bottleneck():
    neck = Bottleneck(("s",), 3, ("a", "b", "c", "d", "e"), ("a", "b"), led=True)
    assert bottleneck_words(neck, STATIONS, PEOPLE) == (
        "Low bar: 5 people need it for the step in hand, 3 at a time fit. Without a turn at it: 1 Ada and 2 Bo. "
        "A coach’s hands or eyes are needed there."
    )
    alone = Bottleneck(("s", "t"), 2, ("a",), ("a",), led=False)
    assert bottleneck_words(alone, STATIONS, PEOPLE) == (
        "Low bar and rings: 1 person needs it for the step in hand, 2 at a time fit. Without a turn at it: 1 Ada."
    )


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (Pin("a", 0, "t"), "1 Ada is fixed at rings in rotation 1."),
        (Apart("a", "b"), "1 Ada and 2 Bo are kept apart."),
        ("most_resets", "Bars are re-set no more often than you said."),
        ("coaches", "There are no more coaches than you said, and each does one thing in a rotation."),
        (Pin("x", 1, "y"), "Somebody is fixed at a station in rotation 2."),
    ],
)
def test_each_rule_that_may_clash_has_words(rule, words):
    assert rule_words(rule, STATIONS, PEOPLE) == words


def test_what_is_left_out_names_a_few_steps():
    words = left_out_words("1 Ada", ["1", "2", "3", "4", "5", "6"], [], [])
    assert words == "1 Ada: under a caution, without 1, 2, 3 and 3 more."
    words = left_out_words("2 Bo", [], ["3a"], ["no consent to a hand"])
    assert words == "2 Bo: no consent to a hand, so without 3a."
    assert left_out_words("2 Bo", [], [], ["no consent to a hand"]) == "2 Bo: no consent to a hand."


def test_lists_read_as_people_write_them():
    assert [listed(words) for words in (["a"], ["a", "b"], ["a", "b", "c"])] == ["a", "a and b", "a, b and c"]
