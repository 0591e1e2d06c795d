"""Who may start and who may finish: openings, clearance, sign-offs, cautions."""

import pytest

from skills.core.facts import History
from skills.core.findings import NeedsClearance, NeedsSignOff, Paused, PrerequisiteMissing, TooShort
from skills.core.readiness import DueOpening, evaluate, openings_due
from tests.core.notebook import (
    at,
    attempt,
    attempts,
    caution,
    change_at,
    lift,
    missing_at,
    opening,
    rules,
    sign_off,
    step,
    timeline_of,
    told,
    void,
)

FIVE = {"best": {"seconds": 5}}
TEN = {"best": {"seconds": 10}}


def passed(code, when="2 Mar 18:00"):
    """An attempt that passes an automatic step of FIVE."""
    return attempt(f"{when}, 5 s", id=f"pass {code}", step=code)


# The pull-up (3) leads to the tucked inverted hang (3a), which a coach opens.
PULL = rules(
    step("3", FIVE),
    step("3a", FIVE, requires=("3",), asks_clearance=True, needs_sign_off=True, inverted=True, loads="inversion"),
    step("4", TEN, requires=("3a",), asks_clearance=True, needs_sign_off=True),
)


def test_step_3_met_without_clearance_leaves_3a_closed_and_waiting_for_a_coach():
    history = History(attempts=(passed("3"), attempt("3 Mar 18:00, 5 s", step="3a")))
    before = change_at(PULL, history, "2 Mar 17:59", "3a")
    after = change_at(PULL, history, "9 Mar 18:00", "3a")
    assert (before.state, before.awaits) == ("closed", "")
    assert (after.state, after.base, after.awaits, after.clearance) == ("closed", "closed", "entrance", "")
    assert missing_at(PULL, history, "2 Mar 17:59", "3a") == (PrerequisiteMissing("3"), NeedsClearance())
    assert missing_at(PULL, history, "9 Mar 18:00", "3a") == (NeedsClearance(),)


def test_try_at_a_closed_step_is_never_counted_even_once_it_is_open():
    history = History(
        attempts=(passed("3"), *attempts("3 Mar 18:00, 5 s", "3 Mar 18:05, 5 s, closed try", step="3a")),
        openings=(opening("4 Mar 18:00", "3a"),),
    )
    assert told(timeline_of(PULL, history, "3a")) == ["first closed", "4 Mar 18:00 working"]
    assert missing_at(PULL, history, "9 Mar 18:00", "3a") == (TooShort(50, 0),)


def test_step_that_a_coach_opens_counts_judged_attempts_only_whatever_the_criterion_says():
    anybody = {"best": {"seconds": 5, "who": ["judged", "counted", "timed_only", "own"]}}
    notes = ["3 Mar 18:00, 5 s, own", "4 Mar 18:00, 5 s, counted", "5 Mar 18:00, 5 s, timed only", "6 Mar 18:00, 5 s"]
    gated = rules(step(criterion=anybody, asks_clearance=True))
    history = History(attempts=attempts(*notes), openings=(opening("1 Mar 18:00"),))
    assert told(timeline_of(gated, history))[-1] == "6 Mar 18:00 passed"
    assert told(timeline_of(rules(step(criterion=anybody)), history))[-1] == "3 Mar 18:00 passed"


@pytest.mark.parametrize(
    ("openings", "revoked", "told_as"),
    [
        ([], [], []),
        (["2 Mar 18:00"], [], ["2 Mar 18:00 working"]),
        (["2 Mar 18:00"], ["1 Mar 18:00"], ["2 Mar 18:00 working"]),
        (["2 Mar 18:00"], ["4 Mar 18:00"], ["2 Mar 18:00 working", "4 Mar 18:00 closed"]),
        (["2 Mar 18:00"], ["2 Mar 18:00"], []),
        (["2 Mar 18:00", "3 Mar 18:00"], ["4 Mar 18:00"], ["2 Mar 18:00 working", "4 Mar 18:00 closed"]),
        (
            ["2 Mar 18:00", "5 Mar 18:00"],
            ["4 Mar 18:00"],
            ["2 Mar 18:00 working", "4 Mar 18:00 closed", "5 Mar 18:00 working"],
        ),
    ],
)
def test_step_is_open_from_an_opening_until_the_entrance_is_revoked(openings, revoked, told_as):
    history = History(
        openings=tuple(opening(when) for when in openings),
        sign_offs=tuple(sign_off(when, "entrance revoked") for when in revoked),
    )
    timeline = timeline_of(rules(step(criterion=FIVE, asks_clearance=True)), history)
    assert told(timeline) == ["first closed", *told_as]


def test_neither_a_not_yet_at_the_entrance_nor_a_revoked_finish_closes_a_step():
    history = History(
        openings=(opening("2 Mar 18:00"),),
        sign_offs=(sign_off("3 Mar 18:00", "entrance not_yet"), sign_off("3 Mar 18:00", "finish revoked")),
    )
    assert told(timeline_of(rules(step(criterion=FIVE, asks_clearance=True)), history))[1:] == ["2 Mar 18:00 working"]


@pytest.mark.parametrize(
    ("note", "told_as"),
    [
        ("2 Mar 18:00, 5 s", ["2 Mar 18:00 passed", "4 Mar 18:00 closed"]),
        ("4 Mar 18:00, 5 s", ["2 Mar 18:00 working", "4 Mar 18:00 closed"]),
    ],
)
def test_attempt_at_the_moment_of_opening_counts_and_at_that_of_revoking_does_not(note, told_as):
    history = History(
        attempts=attempts(note),
        openings=(opening("2 Mar 18:00"),),
        sign_offs=(sign_off("4 Mar 18:00", "entrance revoked"),),
    )
    timeline = timeline_of(rules(step(criterion=FIVE, asks_clearance=True)), history)
    assert told(timeline) == ["first closed", *told_as]


def test_automatic_step_stays_passed_through_closing_and_opening_again():
    history = History(
        attempts=attempts("2 Mar 18:00, 5 s"),
        openings=(opening("1 Mar 18:00"), opening("6 Mar 18:00")),
        sign_offs=(sign_off("4 Mar 18:00", "entrance revoked"),),
    )
    assert told(timeline_of(rules(step(criterion=FIVE, asks_clearance=True)), history)) == [
        "first closed",
        "1 Mar 18:00 working",
        "2 Mar 18:00 passed",
        "4 Mar 18:00 closed",
        "6 Mar 18:00 passed",
    ]


@pytest.mark.parametrize(
    ("notes", "said", "told_as"),
    [
        (["2 Mar 18:00, 5 s"], [], ["2 Mar 18:00 ready"]),
        (["2 Mar 18:00, 4 s"], [], []),
        (["2 Mar 18:00, 5 s"], [("3 Mar 18:00", "finish passed alone")], ["2 Mar 18:00 ready", "3 Mar 18:00 passed"]),
        # A coach may pass what is not met, too.
        (["2 Mar 18:00, 4 s"], [("3 Mar 18:00", "finish passed alone")], ["3 Mar 18:00 passed"]),
        # After a "not yet" it takes something new.
        (["2 Mar 18:00, 5 s"], [("3 Mar 18:00", "finish not_yet")], ["2 Mar 18:00 ready", "3 Mar 18:00 working"]),
        (
            ["2 Mar 18:00, 5 s", "4 Mar 18:00, 5 s, fault", "5 Mar 18:00, 5 s"],
            [("3 Mar 18:00", "finish not_yet")],
            ["2 Mar 18:00 ready", "3 Mar 18:00 working", "5 Mar 18:00 ready"],
        ),
        (
            ["2 Mar 18:00, 5 s", "3 Mar 18:00, 5 s"],
            [("3 Mar 18:00", "finish not_yet")],
            ["2 Mar 18:00 ready", "3 Mar 18:00 working"],
        ),
        # A revoked finish goes back to work, and the same again.
        (
            ["2 Mar 18:00, 5 s", "5 Mar 18:00, 5 s"],
            [("3 Mar 18:00", "finish passed alone"), ("4 Mar 18:00", "finish revoked")],
            ["2 Mar 18:00 ready", "3 Mar 18:00 passed", "4 Mar 18:00 working", "5 Mar 18:00 ready"],
        ),
        # Of the decisions of one moment the strictest stands.
        (
            ["2 Mar 18:00, 5 s"],
            [("3 Mar 18:00", "finish not_yet"), ("3 Mar 18:00", "finish passed alone")],
            ["2 Mar 18:00 ready", "3 Mar 18:00 working"],
        ),
        # An entrance decision says nothing about the finish.
        (["2 Mar 18:00, 5 s"], [("3 Mar 18:00", "entrance not_yet")], ["2 Mar 18:00 ready"]),
    ],
)
def test_step_with_sign_off_is_ready_when_met_and_passed_when_signed(notes, said, told_as):
    history = History(attempts=attempts(*notes), sign_offs=tuple(sign_off(*each) for each in said))
    timeline = timeline_of(rules(step(criterion=FIVE, needs_sign_off=True)), history)
    assert told(timeline) == ["first working", *told_as]
    assert [change.awaits for change in timeline.changes if change.base == "ready"] == ["finish"] * sum(
        line.endswith("ready") for line in told_as
    )


def test_ready_step_misses_a_sign_off():
    book = rules(step(criterion=FIVE, needs_sign_off=True))
    assert missing_at(book, History(attempts=attempts("2 Mar 18:00, 5 s")), "3 Mar 18:00") == (NeedsSignOff(),)


@pytest.mark.parametrize(
    ("rule", "ready_again"),
    [
        ({"step": "b"}, False),  # nothing new can be shown for it
        ({"any": [{"step": "b"}, FIVE]}, True),
        ({"any": [{"step": "b"}, TEN]}, False),  # what is new belongs to a branch that is not met
        ({"all": [{"step": "b"}, FIVE]}, True),
        ({"any": [{"step": "b"}, {"all": [FIVE, TEN]}]}, False),
    ],
)
def test_after_a_decision_the_evidence_itself_must_hold_something_new(rule, ready_again):
    history = History(
        attempts=(passed("b"), *attempts("2 Mar 18:00, 5 s", "5 Mar 18:00, 5 s")),
        sign_offs=(sign_off("3 Mar 18:00", "finish not_yet"),),
    )
    timeline = timeline_of(rules(step("b", FIVE), step(criterion=rule, needs_sign_off=True)), history)
    assert told(timeline) == [
        *("first working", "2 Mar 18:00 ready", "3 Mar 18:00 working"),
        *(["5 Mar 18:00 ready"] if ready_again else []),
    ]


# Clearance


def test_clearance_follows_the_gates_of_the_step():
    history = History(
        attempts=(passed("3"), *attempts("5 Mar 18:00, 5 s", step="3a")),
        openings=(opening("3 Mar 18:00", "3a"),),
        sign_offs=(
            sign_off("3 Mar 18:00", "entrance passed spotted", "3a"),
            sign_off("6 Mar 18:00", "finish passed alone", "3a"),
        ),
    )
    timeline = timeline_of(PULL, history, "3a")
    assert [(change.state, change.clearance) for change in timeline.changes] == [
        ("closed", ""),
        ("closed", ""),  # and waiting for the entrance
        ("working", "spotted"),
        ("ready", "spotted"),
        ("passed", "alone"),
    ]
    assert [change.awaits for change in timeline.changes] == ["", "entrance", "", "finish", ""]


def test_step_that_does_not_ask_for_clearance_has_none():
    history = History(
        attempts=attempts("2 Mar 18:00, 5 s"), sign_offs=(sign_off("3 Mar 18:00", "finish passed alone"),)
    )
    book = rules(step(criterion=FIVE, needs_sign_off=True))
    assert {change.clearance for change in timeline_of(book, history).changes} == {""}


# Cautions


@pytest.mark.parametrize(
    ("cautions", "lifts", "states"),
    [
        ([caution("3 Mar 18:00")], [], [("3 Mar 18:00", "paused")]),
        ([caution("3 Mar 18:00", "5 Mar 18:00")], [], [("3 Mar 18:00", "paused"), ("5 Mar 18:00", "working")]),
        ([caution("3 Mar 18:00")], [lift("4 Mar 18:00")], [("3 Mar 18:00", "paused"), ("4 Mar 18:00", "working")]),
        (
            [caution("3 Mar 18:00", "5 Mar 18:00")],
            [lift("4 Mar 18:00"), lift("4 Mar 12:00"), lift("3 Mar 19:00", of="another")],
            [("3 Mar 18:00", "paused"), ("4 Mar 12:00", "working")],
        ),
        (
            [caution("3 Mar 18:00", "5 Mar 18:00")],
            [lift("9 Mar 18:00")],
            [("3 Mar 18:00", "paused"), ("5 Mar 18:00", "working")],
        ),
        ([caution("3 Mar 18:00")], [lift("3 Mar 18:00")], []),
        ([caution("3 Mar 18:00", loads="landing")], [], []),
        ([caution("3 Mar 18:00", loads="landing hang")], [], [("3 Mar 18:00", "paused")]),
        (
            [caution("3 Mar 18:00", "5 Mar 18:00"), caution("4 Mar 18:00", "6 Mar 18:00", id="c2")],
            [],
            [("3 Mar 18:00", "paused"), ("6 Mar 18:00", "working")],
        ),
    ],
)
def test_caution_on_a_load_of_the_step_pauses_it_at_once_and_until_it_ends(cautions, lifts, states):
    history = History(cautions=tuple(cautions), lifts=tuple(lifts))
    timeline = timeline_of(rules(step(criterion=FIVE, loads="hang pull")), history)
    assert [(change.from_us, change.state) for change in timeline.changes[1:]] == [
        (at(when), state) for when, state in states
    ]
    assert {change.base for change in timeline.changes} == {"working"}


def test_caution_masks_the_state_and_takes_clearance_but_not_the_base():
    history = History(
        attempts=attempts("2 Mar 18:00, 5 s"),
        openings=(opening("1 Mar 18:00"),),
        sign_offs=(sign_off("1 Mar 18:00", "entrance passed present"), sign_off("2 Mar 19:00", "finish passed alone")),
        cautions=(caution("4 Mar 18:00", "6 Mar 18:00"),),
    )
    book = rules(step(criterion=FIVE, asks_clearance=True, needs_sign_off=True))
    seen = [change_at(book, history, when) for when in ("4 Mar 17:59", "4 Mar 18:00", "6 Mar 18:00")]
    assert [(change.state, change.base, change.clearance) for change in seen] == [
        ("passed", "passed", "alone"),
        ("paused", "passed", ""),
        ("passed", "passed", "alone"),
    ]


def test_caution_leaves_a_closed_step_closed():
    history = History(cautions=(caution("1 Mar 18:00"),))
    assert change_at(rules(step(asks_clearance=True)), history, "2 Mar 18:00").state == "closed"


@pytest.mark.parametrize(
    ("when", "counts"),
    [("3 Mar 17:59", True), ("3 Mar 18:00", False), ("5 Mar 17:59", False), ("5 Mar 18:00", True)],
)
def test_try_under_a_caution_does_not_count(when, counts):
    history = History(attempts=attempts(f"{when}, 5 s"), cautions=(caution("3 Mar 18:00", "5 Mar 18:00"),))
    assert timeline_of(rules(step(criterion=FIVE)), history).changes[-1].base == ("passed" if counts else "working")


@pytest.mark.parametrize(
    ("cautions", "paused"),
    [
        ([caution("3 Mar 18:00", "5 Mar 18:00", loads="hang landing")], Paused(("hang",), at("5 Mar 18:00"))),
        ([caution("3 Mar 18:00")], Paused(("hang",), None)),
        (
            [caution("3 Mar 18:00", "5 Mar 18:00"), caution("3 Mar 18:00", "6 Mar 18:00", "pull hang", id="c2")],
            Paused(("hang", "pull"), at("6 Mar 18:00")),
        ),
        ([caution("3 Mar 18:00", "5 Mar 18:00"), caution("3 Mar 18:00", id="c2")], Paused(("hang",), None)),
        ([caution("3 Mar 18:00"), caution("1 Mar 18:00", "2 Mar 18:00", "pull", id="c2")], Paused(("hang",), None)),
    ],
)
def test_pause_names_the_loads_and_the_end_before_anything_else_that_is_missing(cautions, paused):
    book = rules(step(criterion=FIVE, loads="hang pull"))
    assert missing_at(book, History(cautions=tuple(cautions)), "4 Mar 18:00") == (paused, TooShort(50, 0))


# Openings

LED = rules(
    step("1", FIVE),
    step("2", FIVE),
    step("3", FIVE, requires=("1", "2")),
    step("4", FIVE, requires=("1",), asks_clearance=True),
    step("5", FIVE, requires=("3",)),
)


def due(history, when):
    standing = evaluate(LED, history, at(when))
    return openings_due(LED, {code: each.timeline for code, each in standing.steps.items()}, history, at(when))


def test_opening_is_due_once_all_required_steps_are_passed_and_no_coach_is_asked():
    history = History(attempts=(passed("1", "2 Mar 18:00"), passed("2", "4 Mar 18:00")))
    assert due(history, "4 Mar 17:59") == ()
    assert due(history, "4 Mar 18:00") == (DueOpening("3", at("4 Mar 18:00")),)
    assert due(history, "9 Mar 18:00") == (DueOpening("3", at("4 Mar 18:00")),)


def test_opening_is_due_once_and_then_the_next_step_can_pass():
    history = History(
        attempts=(passed("1"), passed("2"), passed("3", "5 Mar 18:00")), openings=(opening("4 Mar 18:00", "3"),)
    )
    assert told(timeline_of(LED, history, "3")) == ["first closed", "4 Mar 18:00 working", "5 Mar 18:00 passed"]
    assert due(history, "9 Mar 18:00") == (DueOpening("5", at("5 Mar 18:00")),)


def test_opening_that_was_revoked_is_not_due_again():
    history = History(
        attempts=(passed("1"), passed("2")),
        openings=(opening("4 Mar 18:00", "3"),),
        sign_offs=(sign_off("5 Mar 18:00", "entrance revoked", "3"),),
    )
    assert due(history, "9 Mar 18:00") == ()


def test_opening_is_not_due_while_a_required_step_is_due_for_a_recheck():
    book = rules(step("1", FIVE, recheck_days=2), step("2", FIVE), step("3", FIVE, requires=("1", "2")))
    history = History(attempts=(passed("1", "2 Mar 18:00"), passed("2", "9 Mar 18:00")))
    standing = evaluate(book, history, at("9 Mar 18:00"))
    timelines = {code: each.timeline for code, each in standing.steps.items()}
    assert openings_due(book, timelines, history, at("9 Mar 18:00")) == ()


def test_prerequisite_that_falls_later_closes_nothing():
    history = History(
        attempts=(passed("1"), passed("2")), voids=void("pass 2"), openings=(opening("2 Mar 18:00", "3"),)
    )
    assert change_at(LED, history, "9 Mar 18:00", "3").state == "working"
