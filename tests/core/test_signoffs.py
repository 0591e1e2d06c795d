import pytest

from skills.core.signoffs import Decisions, granted
from skills.core.spans import FOREVER, Span
from tests.core.notebook import at, sign_off


def decisions(gate, *said):
    return Decisions.at(gate, [sign_off(*each) for each in said])


def test_decisions_are_in_order_of_moment_strictness_and_id():
    said = [
        ("3 Mar 18:00", "finish revoked"),
        ("3 Mar 18:00", "finish not_yet"),
        ("3 Mar 18:00", "finish passed alone"),
        ("3 Mar 18:00", "finish passed spotted"),
        ("2 Mar 18:00", "finish revoked"),
        ("2 Mar 18:00", "entrance revoked"),
    ]
    assert [(each.happened_us, each.id[5:]) for each in decisions("finish", *said).made] == [
        (at("2 Mar 18:00"), "a finish revoked"),
        (at("3 Mar 18:00"), "a finish passed alone"),
        (at("3 Mar 18:00"), "a finish passed spotted"),
        (at("3 Mar 18:00"), "a finish not_yet"),
        (at("3 Mar 18:00"), "a finish revoked"),
    ]


def test_latest_decision_stands_from_its_moment_on():
    made = decisions("finish", ("2 Mar 18:00", "finish passed alone"), ("4 Mar 18:00", "finish revoked"))
    moments = [at("2 Mar 18:00") - 1, at("2 Mar 18:00"), at("4 Mar 18:00") - 1, at("4 Mar 18:00")]
    assert [made.latest(us) for us in moments] == [None, made.made[0], made.made[0], made.made[1]]
    assert [made.passed(us) for us in moments] == [None, made.made[0], made.made[0], None]
    assert [made.revoked(us) for us in moments] == [False, False, False, True]


def test_each_decision_lasts_until_the_next_and_of_one_moment_only_the_last_lasts():
    made = decisions(
        "finish",
        ("2 Mar 18:00", "finish passed alone"),
        ("4 Mar 18:00", "finish passed alone"),
        ("4 Mar 18:00", "finish not_yet"),
    )
    assert list(made.stretches()) == [
        (made.made[0], Span(at("2 Mar 18:00"), at("4 Mar 18:00"))),
        (made.made[2], Span(at("4 Mar 18:00"), FOREVER)),
    ]
    assert list(decisions("entrance").stretches()) == []


@pytest.mark.parametrize(
    ("entrance", "finish", "clearance"),
    [
        ([], [], ""),
        ([("2 Mar 18:00", "entrance passed spotted")], [], "spotted"),
        ([("2 Mar 18:00", "entrance passed spotted")], [("4 Mar 18:00", "finish passed alone")], "alone"),
        ([("5 Mar 18:00", "entrance passed present")], [("4 Mar 18:00", "finish passed alone")], "present"),
        ([("4 Mar 18:00", "entrance passed present")], [("4 Mar 18:00", "finish passed alone")], "alone"),
        (
            [("2 Mar 18:00", "entrance passed spotted")],
            [("4 Mar 18:00", "finish passed alone"), ("5 Mar 18:00", "finish revoked")],
            "spotted",
        ),
        (
            [("2 Mar 18:00", "entrance passed spotted")],
            [("4 Mar 18:00", "finish passed alone"), ("5 Mar 18:00", "finish not_yet")],
            "spotted",
        ),
        (
            [("2 Mar 18:00", "entrance passed spotted"), ("3 Mar 18:00", "entrance revoked")],
            [("4 Mar 18:00", "finish passed alone")],
            "alone",
        ),
        ([("2 Mar 18:00", "entrance passed spotted"), ("3 Mar 18:00", "entrance revoked")], [], ""),
        (
            [("2 Mar 18:00", "entrance passed spotted"), ("3 Mar 18:00", "entrance passed present")],
            [("5 Mar 18:00", "finish passed alone"), ("5 Mar 18:00", "finish revoked")],
            "present",
        ),
        ([], [("7 Mar 18:00", "finish passed alone")], ""),  # not yet made
    ],
)
def test_clearance_is_that_of_the_latest_pass_that_was_not_taken_back(entrance, finish, clearance):
    gates = decisions("entrance", *entrance), decisions("finish", *finish)
    assert granted(*gates, at("6 Mar 18:00")) == clearance
