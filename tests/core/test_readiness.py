"""Which attempts pass which step: tables that a coach can read."""

import pytest

from skills.core.criteria import HoldTarget, parse
from skills.core.facts import History
from skills.core.findings import (
    OneOf,
    Progress,
    StepNotPassed,
    TooFewAngles,
    TooFewCleanOfLast,
    TooFewDates,
    TooFewHolds,
    TooFewReps,
    TooFewSessions,
    TooFewSets,
    TooShort,
    TooUnreliable,
)
from skills.core.readiness import default_timeline, evaluate, evaluate_step, look_at
from skills.core.steps import CriterionInForce
from skills.core.timeline import Change, Timeline
from tests.core.notebook import at, attempt, attempts, change_at, opening, rules, step, timeline_of, told, void

# Common practice, no source: the full standard, the first standard, and the ladder of 5, 10 and 20 s.
FULL_STANDARD = {"holds": {"count": 3, "seconds": 20}}
FIRST_STANDARD = {"holds": {"count": 3, "seconds": 5, "dates": 2}}
LADDER = [{"best": {"seconds": seconds}} for seconds in (5, 10, 20)]

TWO_SETS = {"reps": {"count": 2, "reps": 3, "unbroken": True}}
THREE_OF_FIVE = {"last": {"clean": 3, "of": 5, "seconds": 5}}


@pytest.mark.parametrize(
    ("rule", "notes", "passes"),
    [
        # Three clean holds of 20 s (common practice, no source)
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s", "2 Mar 18:10, 20 s"], "2 Mar 18:10"),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 19.9 s", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, fault", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, missed", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, pain", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, band", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, own", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, bent", "2 Mar 18:10, 20 s"], "2 Mar 18:10"),
        (FULL_STANDARD, ["2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s, closed try", "2 Mar 18:10, 20 s"], None),
        (FULL_STANDARD, ["2 Mar 18:00, 2 x 20 s", "9 Mar 18:00, 20 s"], "9 Mar 18:00"),
        (FULL_STANDARD, ["2 Mar 18:00, 20 reps", "2 Mar 18:05, 20 reps", "2 Mar 18:10, 20 reps"], None),
        # Three clean holds of 5 s on two days (common practice, no source)
        (FIRST_STANDARD, ["2 Mar 18:00, 3 x 5 s"], None),
        (FIRST_STANDARD, ["2 Mar 18:00, 3 x 5 s", "4 Mar 18:00, 5 s"], "4 Mar 18:00"),
        (FIRST_STANDARD, ["2 Mar 18:00, 3 x 5 s", "4 Mar 18:00, 5 s, fault"], None),
        (FIRST_STANDARD, ["2 Mar 23:59, 2 x 5 s", "3 Mar 00:00, 5 s"], "3 Mar 00:00"),
        # The ladder of 5, 10 and 20 s (common practice, no source)
        (LADDER[0], ["2 Mar 18:00, 5 s"], "2 Mar 18:00"),
        (LADDER[1], ["2 Mar 18:00, 5 s"], None),
        (LADDER[1], ["2 Mar 18:00, 9.9 s", "3 Mar 18:00, 10 s"], "3 Mar 18:00"),
        (LADDER[2], ["2 Mar 18:00, 19.9 s"], None),
        (LADDER[2], ["2 Mar 18:00, 3 x 19.9 s", "3 Mar 18:00, 20 s"], "3 Mar 18:00"),
        # Nothing under 2 s is a hold: Code of Points 2025-2028, men's artistic gymnastics, static elements 2 s
        ({"best": {"seconds": 1}}, ["2 Mar 18:00, 1.9 s"], None),
        ({"best": {"seconds": 1}}, ["2 Mar 18:00, 1.9 s", "2 Mar 18:05, 2 s"], "2 Mar 18:05"),
        ({"holds": {"count": 1, "seconds": "0.1", "clean": False}}, ["2 Mar 18:00, 9 x 1.9 s"], None),
        ({"last": {"clean": 1, "of": 1, "seconds": 1}}, ["2 Mar 18:00, 1.9 s"], None),
        # Sets
        (TWO_SETS, ["2 Mar 18:00, 3 reps", "2 Mar 18:05, 4 reps"], "2 Mar 18:05"),
        (TWO_SETS, ["2 Mar 18:00, 6 reps"], None),
        (TWO_SETS, ["2 Mar 18:00, 3 reps", "2 Mar 18:05, 3 reps, broken"], None),
        ({"best": {"reps": 5}}, ["2 Mar 18:00, 4 reps", "2 Mar 18:05, 5 reps, broken"], "2 Mar 18:05"),
        # Training sessions; outside of them each day is one
        ({"holds": {"count": 2, "seconds": 5, "sessions": 2}}, ["2 Mar 18:00, 5 s", "2 Mar 19:00, 5 s"], None),
        (
            {"holds": {"count": 2, "seconds": 5, "sessions": 2}},
            ["2 Mar 18:00, 5 s, session A", "2 Mar 19:00, 5 s, session B"],
            "2 Mar 19:00",
        ),
        (
            {"holds": {"count": 2, "seconds": 5, "sessions": 2}},
            ["2 Mar 18:00, 5 s, session A", "2 Mar 19:00, 5 s"],
            "2 Mar 19:00",
        ),
        (
            {"holds": {"count": 2, "seconds": 5, "sessions": 2}},
            ["2 Mar 23:00, 5 s, session A", "3 Mar 01:00, 5 s, session A"],
            None,
        ),
        # Three clean of the last five
        (
            THREE_OF_FIVE,
            ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s, fault", "2 Mar 18:02, 5 s", "2 Mar 18:03, 4 s", "2 Mar 18:04, 5 s"],
            "2 Mar 18:04",
        ),
        (
            THREE_OF_FIVE,
            [
                *("2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s, fault", "2 Mar 18:02, 5 s"),
                *("2 Mar 18:03, 4 s", "2 Mar 18:04, 4 s", "2 Mar 18:05, 5 s"),
            ],
            None,
        ),
        (THREE_OF_FIVE, ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s", "2 Mar 18:02, 5 s"], "2 Mar 18:02"),
        (  # reps and other people's entries are no tries of this rule
            THREE_OF_FIVE,
            [
                *("2 Mar 18:00, 5 s", "2 Mar 18:01, 9 reps", "2 Mar 18:02, 9 reps", "2 Mar 18:03, 3 s, own"),
                *("2 Mar 18:04, 3 s, own", "2 Mar 18:05, 5 s", "2 Mar 18:06, 5 s"),
            ],
            "2 Mar 18:06",
        ),
        # Trees
        ({"all": [LADDER[0], TWO_SETS]}, ["2 Mar 18:00, 2 x 5 s", "2 Mar 18:05, 3 reps"], None),
        (
            {"all": [LADDER[0], TWO_SETS]},
            ["2 Mar 18:00, 3 reps", "2 Mar 18:05, 3 reps", "2 Mar 18:10, 5 s"],
            "2 Mar 18:10",
        ),
        ({"any": [LADDER[2], TWO_SETS]}, ["2 Mar 18:00, 3 reps", "2 Mar 18:05, 20 s"], "2 Mar 18:05"),
    ],
)
def test_step_passes_at_the_attempt_that_meets_its_rule(rule, notes, passes):
    timeline = timeline_of(rules(step(criterion=rule)), History(attempts=attempts(*notes)))
    assert told(timeline) == ["first working", *([f"{passes} passed"] if passes else [])]


def test_fault_after_the_pass_does_not_close_what_was_passed():
    notes = ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s", "2 Mar 18:02, 5 s"]
    faults = [f"3 Mar 18:0{minute}, 5 s, fault" for minute in range(5)]
    timeline = timeline_of(rules(step(criterion=THREE_OF_FIVE)), History(attempts=attempts(*notes, *faults)))
    assert told(timeline) == ["first working", "2 Mar 18:02 passed"]


@pytest.mark.parametrize(("faults", "passed"), [(2, ["2 Mar 18:02 passed"]), (3, [])])
def test_faults_entered_late_count_among_the_last_tries_where_they_happened(faults, passed):
    between = ["2 Mar 18:01, 5 s, fault"] * faults
    notes = attempts("2 Mar 18:02, 5 s", "2 Mar 18:00, 5 s", "2 Mar 18:00, 5 s", *between)
    timeline = timeline_of(rules(step(criterion=THREE_OF_FIVE)), History(attempts=notes))
    assert told(timeline) == ["first working", *passed]


def test_voided_attempt_never_happened():
    notes = attempts("2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s", "2 Mar 18:10, 20 s", "4 Mar 18:00, 20 s")
    book = rules(step(criterion=FULL_STANDARD))
    assert told(timeline_of(book, History(attempts=notes))) == ["first working", "2 Mar 18:10 passed"]
    voided = History(attempts=notes, voids=void("n2"))
    assert told(timeline_of(book, voided)) == ["first working", "4 Mar 18:00 passed"]


def test_attempts_at_other_steps_do_not_count():
    notes = attempts("2 Mar 18:00, 20 s", "2 Mar 18:05, 20 s", "2 Mar 18:10, 20 s", step="b")
    book = rules(step(criterion=FULL_STANDARD), step("b"))
    assert told(timeline_of(book, History(attempts=notes))) == ["first working"]
    assert told(evaluate_step(book, "a", History(attempts=notes), {})) == ["first working"]


def versions(*dated):
    return tuple(
        CriterionInForce(number, at(when) if when else 0, parse(rule))
        for number, (when, rule) in enumerate(dated, start=1)
    )


@pytest.mark.parametrize(
    ("criteria", "notes", "told_as"),
    [
        # An easier rule counts what is there as soon as it is in force.
        (versions((None, LADDER[2]), ("5 Mar 00:00", LADDER[0])), ["2 Mar 18:00, 5 s"], "5 Mar 00:00 passed"),
        # A harder one leaves what was passed before.
        (versions((None, LADDER[0]), ("5 Mar 00:00", LADDER[2])), ["2 Mar 18:00, 5 s"], "2 Mar 18:00 passed"),
        (versions((None, LADDER[0]), ("5 Mar 00:00", LADDER[2])), ["5 Mar 00:00, 5 s"], None),
        # Of two that begin together the higher version is in force.
        (versions(("1 Mar 00:00", LADDER[0]), ("1 Mar 00:00", LADDER[2])), ["2 Mar 18:00, 5 s"], None),
        # Before the first begins nothing is met.
        (versions(("3 Mar 00:00", LADDER[0])), ["2 Mar 18:00, 5 s"], "3 Mar 00:00 passed"),
        ((), ["2 Mar 18:00, 5 s"], None),
    ],
)
def test_criterion_in_force_at_the_moment_decides(criteria, notes, told_as):
    timeline = timeline_of(rules(step(criteria=criteria)), History(attempts=attempts(*notes)))
    assert told(timeline) == ["first working", *([told_as] if told_as else [])]


def test_standing_names_the_version_in_force():
    book = rules(step(criteria=versions(("1 Mar 00:00", LADDER[0]), ("5 Mar 00:00", LADDER[2]))))
    found = [evaluate(book, History(), at(when)).steps["a"] for when in ("28 Feb 00:00", "1 Mar 00:00", "5 Mar 00:00")]
    assert [each.criterion_version for each in found] == [0, 1, 2]
    assert [each.missing for each in found] == [(), (TooShort(50, 0),), (TooShort(200, 0),)]
    assert found[0].progress == ()


OPEN_TWICE = {"angle": {"count": 2, "at_least_degrees": 90, "seconds": 5}}
SIXTY_OF_TEN = {"reliability": {"percent": 60, "confidence": 90, "of": 10, "seconds": 5}}
TWO_DAYS = {"holds": {"count": 3, "seconds": 5, "sessions": 2, "dates": 2}}


@pytest.mark.parametrize(
    ("rule", "notes", "missing", "progress"),
    [
        (FIRST_STANDARD, [], (TooFewHolds(3, 0, 50), TooFewDates(2, 0)), Progress(0, 3, "holds")),
        (FULL_STANDARD, [], (TooFewHolds(3, 0, 200),), Progress(0, 3, "holds")),
        (FIRST_STANDARD, ["2 Mar 18:00, 5 s"], (TooFewHolds(3, 1, 50), TooFewDates(2, 1)), Progress(1, 3, "holds")),
        (FIRST_STANDARD, ["2 Mar 18:00, 3 x 5 s"], (TooFewDates(2, 1, HoldTarget(50)),), Progress(3, 3, "holds")),
        (FIRST_STANDARD, ["2 Mar 18:00, 4 x 5 s"], (TooFewDates(2, 1, HoldTarget(50)),), Progress(4, 3, "holds")),
        (
            TWO_DAYS,
            ["2 Mar 18:00, 5 s", "3 Mar 18:00, 5 s"],
            (TooFewHolds(3, 2, 50),),
            Progress(2, 3, "holds"),
        ),
        (
            TWO_DAYS,
            ["2 Mar 18:00, 4 x 5 s"],
            (TooFewSessions(2, 1, HoldTarget(50)), TooFewDates(2, 1)),
            Progress(4, 3, "holds"),
        ),
        (FIRST_STANDARD, ["2 Mar 18:00, 3 x 5 s", "3 Mar 18:00, 5 s"], (), Progress(4, 3, "holds")),
        (
            {"holds": {"count": 1, "seconds": 1}},
            ["2 Mar 18:00, 1.9 s"],
            (TooFewHolds(1, 0, 20),),
            Progress(0, 1, "holds"),
        ),
        (TWO_SETS, ["2 Mar 18:00, 3 reps"], (TooFewSets(2, 1, 3, unbroken=True),), Progress(1, 2, "reps")),
        (
            LADDER[1],
            ["2 Mar 18:00, 6 s", "2 Mar 18:01, 8 s, fault", "2 Mar 18:02, 7.5 s", "2 Mar 18:03, 3 s"],
            (TooShort(100, 75),),
            Progress(75, 100, "tenths"),
        ),
        (LADDER[1], ["2 Mar 18:00, 1.9 s"], (TooShort(100, 0),), Progress(0, 100, "tenths")),
        (
            {"best": {"seconds": 10, "clean": False}},
            ["2 Mar 18:00, 8 s, fault"],
            (TooShort(100, 80, clean=False),),
            Progress(80, 100, "tenths"),
        ),
        ({"best": {"seconds": 1}}, ["2 Mar 18:00, 1.9 s"], (TooShort(20, 0),), Progress(0, 20, "tenths")),
        (
            {"best": {"reps": 5, "unbroken": True}},
            ["2 Mar 18:00, 3 reps", "2 Mar 18:01, 7 reps, broken", "2 Mar 18:02, 2 reps"],
            (TooFewReps(5, 3, unbroken=True),),
            Progress(3, 5, "reps"),
        ),
        ({"best": {"reps": 5}}, ["2 Mar 18:00, 4 reps, broken"], (TooFewReps(5, 4),), Progress(4, 5, "reps")),
        (
            THREE_OF_FIVE,
            ["2 Mar 18:00, 5 s", "2 Mar 18:01, 4 s", "2 Mar 18:02, 5 s"],
            (TooFewCleanOfLast(3, 2, 5, HoldTarget(50)),),
            Progress(2, 3, "clean"),
        ),
        (
            {"last": {"clean": 2, "of": 3, "seconds": 5, "dates": 2}},
            ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s"],
            (TooFewDates(2, 1, HoldTarget(50)),),
            Progress(2, 2, "clean"),
        ),
        (OPEN_TWICE, [], (TooFewAngles(2, 0, 90, "at_least", 50, None),), Progress(0, 2, "angles")),
        (
            OPEN_TWICE,
            [
                "2 Mar 18:00, 5 s, 90°",
                "2 Mar 18:01, 4.9 s, 95°",
                "2 Mar 18:02, 5 s, 89°",
                "2 Mar 18:03, 5 s, 99°, fault",
            ],
            (TooFewAngles(2, 1, 90, "at_least", 50, 90),),
            Progress(1, 2, "angles"),
        ),
        (
            {"angle": {"count": 1, "at_most_degrees": 30, "clean": False}},
            ["2 Mar 18:00, 1 s, 45°", "2 Mar 18:01, 3 reps, 40°, fault", "2 Mar 18:02, 5 s"],
            (TooFewAngles(1, 0, 30, "at_most", 0, 40, clean=False),),
            Progress(0, 1, "angles"),
        ),
        (SIXTY_OF_TEN, [], (TooUnreliable(60, 90, 0, 0, 5, HoldTarget(50)),), Progress(0, 60, "percent")),
        # 4 of 5 show 43.5 % and 8 of 9 show 62 % (90 % Wilson interval, Newcombe 1998).
        (
            SIXTY_OF_TEN,
            ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s, fault", *(f"2 Mar 18:0{minute}, 5 s" for minute in (2, 3, 4))],
            (TooUnreliable(60, 90, 4, 5, 4, HoldTarget(50)),),
            Progress(43, 60, "percent"),
        ),
        ({"step": "b"}, [], (StepNotPassed("b"),), Progress(0, 1, "step")),
        ({"step": "c"}, [], (), Progress(1, 1, "step")),
    ],
)
def test_what_is_missing_and_how_far_it_is(rule, notes, missing, progress):
    other = step("c", {"any": [LADDER[0]]})
    history = History(attempts=(*attempts(*notes), attempt("1 Mar 18:00, 5 s", id="other", step="c")))
    found = evaluate(rules(step(criterion=rule), step("b"), other), history, at("9 Mar 18:00")).steps["a"]
    assert found.missing == missing
    assert found.progress == (progress,)


def test_tree_tells_what_all_lack_and_what_each_option_lacks():
    rule = {
        "all": [LADDER[0], {"any": [LADDER[2], {"all": [TWO_SETS, {"step": "b"}]}]}, {"any": [LADDER[0], LADDER[2]]}]
    }
    history = History(attempts=attempts("2 Mar 18:00, 6 s", "2 Mar 18:05, 3 reps"))
    found = evaluate(rules(step(criterion=rule), step("b")), history, at("3 Mar 18:00")).steps["a"]
    assert found.missing == (OneOf(((TooShort(200, 60),), (TooFewSets(2, 1, 3, unbroken=True), StepNotPassed("b")))),)
    assert found.progress == (
        Progress(60, 50, "tenths"),
        Progress(60, 200, "tenths"),
        Progress(1, 2, "reps"),
        Progress(0, 1, "step"),
        Progress(60, 50, "tenths"),
        Progress(60, 200, "tenths"),
    )


@pytest.mark.parametrize(
    ("rule", "when", "evidence"),
    [
        (FIRST_STANDARD, "2 Mar 18:01", ("n1",)),
        (FIRST_STANDARD, "9 Mar 18:00", ("n1", "n2", "n4")),
        # Met on one branch: the other, unmet one adds nothing.
        ({"any": [LADDER[0], {"holds": {"count": 9, "seconds": 3}}]}, "9 Mar 18:00", ("n1", "n2", "n4")),
        # Not met: everything gathered so far.
        ({"any": [LADDER[2], {"holds": {"count": 9, "seconds": 3}}]}, "9 Mar 18:00", ("n1", "n2", "n3", "n4")),
        ({"all": [LADDER[0], {"holds": {"count": 4, "seconds": 3}}]}, "9 Mar 18:00", ("n1", "n2", "n3", "n4")),
        # Only what is in the window, and of the last tries only those.
        ({"holds": {"count": 1, "seconds": 3, "window_days": 1}}, "3 Mar 18:00", ("n3", "n4")),
        ({"last": {"clean": 1, "of": 2, "seconds": 5}}, "9 Mar 18:00", ("n4",)),
        ({"last": {"clean": 2, "of": 2, "seconds": 5}}, "9 Mar 18:00", ("n4",)),
        ({"step": "b"}, "9 Mar 18:00", ()),
    ],
)
def test_evidence_is_what_it_is_met_on_or_what_has_been_gathered(rule, when, evidence):
    notes = attempts(
        *("2 Mar 18:00, 5 s", "2 Mar 18:05, 5 s", "3 Mar 18:00, 4 s", "3 Mar 18:00, 5 s", "3 Mar 18:10, 9 reps")
    )
    found = evaluate(rules(step(criterion=rule), step("b")), History(attempts=notes), at(when)).steps["a"]
    assert found.evidence == evidence


def test_step_asked_for_in_a_criterion_counts_from_its_passing():
    book = rules(step(criterion={"all": [LADDER[0], {"step": "b"}]}), step("b", LADDER[1]))
    history = History(attempts=(*attempts("2 Mar 18:00, 5 s"), attempt("4 Mar 18:00, 10 s", id="b1", step="b")))
    assert told(timeline_of(book, history)) == ["first working", "4 Mar 18:00 passed"]


def test_step_open_to_all_and_step_that_waits_have_their_own_default_timelines():
    free, gated, led = step("free"), step("gated", asks_clearance=True), step("led", requires=("free",))
    both = step("both", requires=("free",), asks_clearance=True)
    book = rules(free, gated, led, both)
    assert default_timeline(book, "free") == Timeline((Change(0, "working", "working", "", "", (), trouble=False),))
    assert default_timeline(book, "gated").changes[0].awaits == "entrance"
    assert {code: default_timeline(book, code) for code in book.order} == {
        code: found.timeline for code, found in evaluate(book, History(), 0).steps.items()
    }


def test_one_step_looked_at_by_itself_stands_as_it_stands_among_all():
    book = rules(step("b", LADDER[0]), step(criterion=FIRST_STANDARD, requires=("b",), recheck_days=3))
    history = History(
        attempts=(
            *attempts("2 Mar 18:00, 2 x 5 s", "5 Mar 18:00, 5 s"),
            attempt("1 Mar 18:00, 5 s", id="b1", step="b"),
        ),
        openings=(opening("1 Mar 18:00"),),
    )
    standing = evaluate(book, history, at("9 Mar 18:00"))
    assert standing.as_of_us == at("9 Mar 18:00")
    parents = {"b": standing.steps["b"].timeline}
    assert look_at(book, "a", history, parents, at("9 Mar 18:00")) == standing.steps["a"]
    assert evaluate_step(book, "a", history, parents) == standing.steps["a"].timeline
    assert standing.steps["a"].now == change_at(book, history, "9 Mar 18:00")
