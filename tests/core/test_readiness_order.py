"""What must hold of any history: order carries no meaning, more is never less, and texts go round."""

from dataclasses import fields, replace
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from skills.core.criteria import parse
from skills.core.facts import Caution, History, Lift, Opening, SignOff, Void
from skills.core.readiness import evaluate
from skills.core.steps import CriterionInForce
from skills.core.timeline import Timeline
from tests.core.notebook import BERLIN, PLAIN, at, attempts, rules, step

FIVE = {"holds": {"count": 2, "seconds": 5, "window_days": 3, "sessions": 2}}
SETS = {"reps": {"count": 2, "reps": 3, "unbroken": False}}
LAST = {"last": {"clean": 2, "of": 3, "seconds": 5}}
BOOK = rules(
    step(
        "hang",
        recheck_days=4,
        criteria=(CriterionInForce(1, 0, parse(FIVE)), CriterionInForce(2, at("6 Mar 00:00"), parse(LAST))),
    ),
    step("pull", {"any": [SETS, FIVE]}, needs_sign_off=True, recheck_days=3),
    step(
        "inverted", LAST, requires=("hang",), asks_clearance=True, needs_sign_off=True, inverted=True, loads="inversion"
    ),
    step("over", {"all": [{"step": "pull"}, FIVE]}, requires=("inverted",), loads="hang inversion"),
)

codes = st.sampled_from(["hang", "pull", "inverted", "over"])
# Few moments, so that many facts share one; half of them on the edge of a day.
moments = st.builds(lambda day, hour: at(f"{day} Mar {hour}"), st.integers(1, 12), st.sampled_from(["00:00", "18:00"]))
ids = st.sampled_from([f"n{number}" for number in range(8)])


@st.composite
def tries(draw, number):
    us = draw(moments)
    return replace(
        PLAIN,
        id=f"n{number}",
        step=draw(codes),
        happened_us=us,
        recorded_us=us,
        session=draw(st.sampled_from(["", "A", "B"])),
        hold_tenths=draw(st.sampled_from([None, 19, 50, 60])),
        reps=draw(st.sampled_from([1, 3])),
        source=draw(st.sampled_from(["judged", "judged", "own"])),
        faults=draw(st.sampled_from([frozenset(), frozenset(), frozenset({"pulling"})])),
    )


@st.composite
def sign_offs(draw, number):
    us = draw(moments)
    return SignOff(
        id=f"s{number}",
        step=draw(codes),
        gate=draw(st.sampled_from(["entrance", "finish"])),
        decision=draw(st.sampled_from(["passed", "passed", "not_yet", "revoked"])),
        clearance=draw(st.sampled_from(["spotted", "present", "alone"])),
        criterion_version=1,
        evidence=tuple(draw(st.lists(ids, max_size=2))),
        happened_us=us,
        recorded_us=us,
    )


@st.composite
def histories(draw):
    def several(one, most):
        return tuple(draw(one(number)) for number in range(draw(st.integers(0, most))))

    return History(
        attempts=several(tries, 8),
        voids=several(lambda _: st.builds(Void, ids, moments, moments), 1),
        openings=several(lambda number: st.builds(Opening, st.just(f"o{number}"), codes, moments, moments), 3),
        sign_offs=several(sign_offs, 4),
        cautions=several(
            lambda number: st.builds(
                Caution,
                st.just(f"c{number}"),
                st.sampled_from([frozenset({"hang"}), frozenset({"inversion"})]),
                moments,
                st.none() | moments,
                moments,
            ),
            2,
        ),
        lifts=several(lambda _: st.builds(Lift, st.just("c0"), moments, moments), 1),
    )


def texts(history):
    return {code: found.timeline.to_json() for code, found in evaluate(BOOK, history, 0).steps.items()}


@settings(deadline=None)  # how busy the machine is says nothing
@given(histories(), st.randoms(use_true_random=False))
def test_any_order_of_the_facts_gives_the_same_bytes(history, random):
    shuffled = History(
        **{
            field.name: tuple(random.sample(getattr(history, field.name), len(getattr(history, field.name))))
            for field in fields(history)
        }
    )
    assert texts(shuffled) == texts(history)
    us = at("8 Mar 18:00")
    assert evaluate(BOOK, shuffled, us) == evaluate(BOOK, history, us)


@settings(deadline=None)  # how busy the machine is says nothing
@given(histories())
def test_timelines_are_canonical_and_go_round(history):
    for found in evaluate(BOOK, history, 0).steps.values():
        changes = found.timeline.changes
        assert changes[0].from_us == 0
        assert all(one.from_us < other.from_us for one, other in pairwise(changes))
        assert all(replace(other, from_us=one.from_us) != one for one, other in pairwise(changes))
        assert all(change.flags == tuple(sorted(change.flags)) for change in changes)
        assert Timeline.from_json(found.timeline.to_json()) == found.timeline
        assert found.timeline.to_json().isascii()


@settings(deadline=None)  # how busy the machine is says nothing
@given(histories())
def test_a_step_never_loses_to_a_mask_and_a_closed_one_has_nothing(history):
    for found in evaluate(BOOK, history, 0).steps.values():
        for change in found.timeline.changes:
            assert change.state in (change.base, "paused")
            assert (change.base == "closed") <= (change.state == "closed" and not change.flags)
            assert not change.clearance or change.state not in ("closed", "paused")
            assert change.trouble >= bool(change.flags)


MONOTONE = [
    {"holds": {"count": 4, "seconds": 5}},
    {"holds": {"count": 3, "seconds": 5, "dates": 3, "clean": False}},
    {"reps": {"count": 4, "reps": 3}},
    {"best": {"seconds": 30}},
    {"best": {"reps": 30, "unbroken": True}},
]
notes = st.builds(
    "{} Mar {:02}:00, {}{}".format,
    st.integers(1, 9),
    st.integers(0, 23),
    st.sampled_from(["2 x 5 s", "7 s", "12.5 s", "1.9 s", "3 reps", "8 reps"]),
    st.sampled_from(["", "", ", fault", ", own", ", broken", ", session A"]),
)


@settings(max_examples=50, deadline=None)
@given(st.sampled_from(MONOTONE), st.lists(notes, max_size=8))
def test_progress_of_a_rule_without_window_never_falls(rule, written):
    book = rules(step(criterion=rule), zone=BERLIN)
    noted = attempts(*written)

    def have(count, when):
        [progress] = evaluate(book, History(attempts=noted[:count]), at(when)).steps["a"].progress
        return progress.have

    by_time = [have(len(noted), f"{day} Mar 12:00") for day in range(1, 11)]
    by_entry = [have(count, "10 Mar 12:00") for count in range(len(noted) + 1)]
    assert by_time == sorted(by_time)
    assert by_entry == sorted(by_entry)
