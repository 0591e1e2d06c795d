"""Why an attempt counts or not, as a table that a coach can read. All figures: common practice, no source."""

from dataclasses import replace
from typing import Any

import pytest

from skills.core import reasons as why
from skills.core.accounts import account_of, hindsight
from skills.core.criteria import parse
from skills.core.facts import Attempt, Caution, History, Lift, Opening, SignOff, Void
from skills.core.steps import CriterionInForce, Rules, StepRule

DAY = 86_400_000_000
HANG = {"holds": {"count": 3, "seconds": 5, "dates": 2, "window_days": 14}}


def rules_of(data: dict[str, Any] = HANG, **step: Any) -> Rules:
    plain: dict[str, Any] = {
        "requires": (), "asks_clearance": False, "needs_sign_off": True, "recheck_days": None,
        "loads": frozenset({"hanging"}), "inverted": False, "criteria": (CriterionInForce(1, 0, parse(data)),),
    }  # fmt: skip
    return Rules({"hang": StepRule(code="hang", **{**plain, **step})}, "UTC")


def tried(name: str, day: float = 20, **more: Any) -> Attempt:
    us = int(day * DAY)
    plain = Attempt(
        id=name, step="hang", happened_us=us, recorded_us=us, session="", hold_tenths=50, reps=1, unbroken=True,
        source="judged", assistance="none", variant="", faults=frozenset(), missed=frozenset(), pain=False, grade=0,
        closed_try=False,
    )  # fmt: skip
    return replace(plain, **more)


def reasons_of(
    attempt: Attempt, data: dict[str, Any] = HANG, *, day: float = 30, **facts: Any
) -> tuple[why.Reason, ...]:
    step = facts.pop("step", {})
    history = History(attempts=(attempt, *facts.pop("others", ())), **facts)
    account = account_of(rules_of(data, **step), history, "hang", int(day * DAY))
    [verdict] = [each for each in account.verdicts if each.attempt.id == attempt.id]
    assert verdict.counts == (not verdict.reasons)
    return verdict.reasons


REPS = {"reps": {"count": 1, "reps": 3, "unbroken": True}}
ANGLE = {"angle": {"count": 1, "at_least_degrees": 90, "seconds": 3}}


@pytest.mark.parametrize(
    ("attempt", "data", "reasons"),
    [
        (tried("a"), HANG, ()),
        (tried("a", hold_tenths=49), HANG, (why.ShortHold(49, 50),)),
        (tried("a", hold_tenths=19), {"best": {"seconds": 1}}, (why.ShortHold(19, 20),)),
        (tried("a", faults=frozenset({"b", "a"})), HANG, (why.NotClean(("a", "b"), (), pain=False),)),
        (tried("a", missed=frozenset({"m"}), pain=True), HANG, (why.NotClean((), ("m",), pain=True),)),
        (tried("a", pain=True), {"holds": {"count": 1, "seconds": 5, "clean": False}}, ()),
        (tried("a", assistance="band"), HANG, (why.WithHelp("band"),)),
        (tried("a", source="counted"), HANG, (why.OtherEntry("counted"),)),
        (tried("a", variant="bent"), {"best": {"seconds": 5, "variants": False}}, (why.EasierVariant("bent"),)),
        (tried("a", grade=1), {"best": {"seconds": 5, "grade_at_least": 2}}, (why.GradedLow(1, 2),)),
        (tried("a"), REPS, (why.OtherKind("reps"),)),
        (tried("a", hold_tenths=None, reps=2), REPS, (why.FewReps(2, 3),)),
        (tried("a", hold_tenths=None, reps=3, unbroken=False), REPS, (why.Broken(),)),
        (tried("a", hold_tenths=None, reps=3), HANG, (why.OtherKind("hold"),)),
        (tried("a"), ANGLE, (why.OtherKind("angle"),)),
        (tried("a", angle_degrees=89), ANGLE, (why.OffAngle(89, 90, "at_least"),)),
        (tried("a", angle_degrees=90, hold_tenths=29), ANGLE, (why.ShortHold(29, 30),)),
        (tried("a", day=16), HANG, (why.OutsideWindow(14),)),
        (tried("a", day=17), HANG, ()),
        (tried("a", assistance="band", hold_tenths=30), HANG, (why.WithHelp("band"), why.ShortHold(30, 50))),
        (tried("a"), {"step": "other"}, (why.NothingAsked(),)),
    ],
)  # fmt: skip
def test_all_that_speaks_against_an_attempt_is_told(
    attempt: Attempt, data: dict[str, Any], reasons: tuple[why.Reason, ...]
) -> None:
    if "step" in data:
        other = rules_of().steps["hang"]
        rules = Rules({"hang": rules_of(data).steps["hang"], "other": replace(other, code="other")}, "UTC")
        [verdict] = account_of(rules, History(attempts=(attempt,)), "hang", 30 * DAY).verdicts
        assert verdict.reasons == reasons
    else:
        assert reasons_of(attempt, data) == reasons


def test_what_never_counts_is_told_before_anything_that_a_criterion_asks() -> None:
    caution = Caution("c", frozenset({"hanging", "landing"}), 19 * DAY, 21 * DAY, 19 * DAY)
    lift = Lift("c", 20 * DAY, 20 * DAY)
    short = tried("a", hold_tenths=10)
    assert reasons_of(short, voids=(Void("a", 25 * DAY, 25 * DAY),)) == (why.TakenBack(),)
    assert reasons_of(short, cautions=(caution,)) == (why.UnderCaution(("hanging",)),)
    assert reasons_of(tried("a"), cautions=(caution,), lifts=(lift,)) == ()
    assert reasons_of(replace(short, closed_try=True)) == (why.StepClosed(),)


def test_a_step_that_a_coach_opens_takes_judged_attempts_while_it_is_open() -> None:
    step = {"asks_clearance": True}
    opened = (Opening("o", "hang", 20 * DAY, 20 * DAY),)
    everything = {"holds": {"count": 1, "seconds": 5, "who": ["judged", "own"]}}
    assert reasons_of(tried("a", source="own"), everything, step=step, openings=opened) == (why.NotJudged("own"),)
    assert reasons_of(tried("a"), everything, step=step, openings=opened) == ()
    assert reasons_of(tried("a", day=19), everything, step=step, openings=opened) == (why.StepClosed(),)


def test_a_try_that_later_ones_pushed_out_is_not_among_the_last() -> None:
    two_of_two = {"last": {"clean": 2, "of": 2, "seconds": 5}}
    later = (tried("b", 21), tried("c", 22))
    assert reasons_of(tried("a"), two_of_two, others=later) == (why.NotAmongLast(2),)
    assert reasons_of(tried("a"), two_of_two, others=later[:1]) == ()


def test_a_success_of_the_way_that_was_not_needed_is_told_so() -> None:
    one_way = {"any": [{"best": {"seconds": 10}}, {"holds": {"count": 4, "seconds": 5, "dates": 2}}]}
    assert reasons_of(tried("a"), one_way, others=(tried("b", hold_tenths=100),)) == (why.NotNeeded(),)


def test_of_several_conditions_the_nearest_one_speaks() -> None:
    both = {"all": [{"best": {"seconds": 10}}, REPS]}
    assert reasons_of(tried("a", hold_tenths=60), both) == (why.ShortHold(60, 100),)
    assert reasons_of(tried("a", hold_tenths=None, reps=2), both) == (why.FewReps(2, 3),)


def test_what_an_automatic_step_passed_on_counts_for_good() -> None:
    rules = rules_of(needs_sign_off=False)
    history = History(attempts=(tried("a", 1), tried("b", 1), tried("c", 2), tried("d", 40)))
    account = account_of(rules, history, "hang", 41 * DAY)
    assert account.since_us == 2 * DAY
    assert {each.attempt.id: each.bears for each in account.counted} == {
        "a": ("passing",), "b": ("passing",), "c": ("passing",), "d": ("criterion",),
    }  # fmt: skip


def signed(name: str = "s", day: float = 3, **more: Any) -> SignOff:
    us = int(day * DAY)
    return replace(SignOff(name, "hang", "finish", "passed", "alone", 1, ("a", "b", "c"), us, us), **more)


HOLDS = (tried("a", 1), tried("b", 1), tried("c", 2))


def test_hindsight_counts_what_was_recorded_later_about_what_had_happened() -> None:
    facts = History(
        attempts=(*HOLDS, tried("late", 2, recorded_us=9 * DAY), tried("after", 9)),
        voids=(Void("a", 5 * DAY, 5 * DAY), Void("late", 9 * DAY, 9 * DAY)),
        sign_offs=(signed(),),
        cautions=(Caution("c", frozenset({"landing"}), 2 * DAY, None, 6 * DAY),),
    )
    rules, us = rules_of(), 4 * DAY
    then, now = account_of(rules, facts.known_at(us), "hang", us), account_of(rules, facts, "hang", us)
    seen = hindsight(then, now, facts, (rules.steps["hang"],) * 2)
    assert (seen.taken_back, seen.entered_late, seen.cautions_late, seen.decided_late) == (1, 1, 1, 0)
    assert seen.stands_otherwise
    assert not seen.rule_changed


def test_there_is_no_hindsight_where_everything_was_known() -> None:
    facts = History(attempts=HOLDS, sign_offs=(signed(),))
    rules, us = rules_of(), 4 * DAY
    account = account_of(rules, facts, "hang", us)
    assert not hindsight(account, account, facts, (rules.steps["hang"],) * 2).any


def test_a_rule_written_later_for_then_is_hindsight_and_one_for_later_is_not() -> None:
    facts, us = History(), 4 * DAY
    old = rules_of()
    account = account_of(old, facts, "hang", us)
    versions = old.steps["hang"].criteria
    for from_us, changed in ((3 * DAY, True), (5 * DAY, False)):
        newer = replace(old.steps["hang"], criteria=(*versions, CriterionInForce(2, from_us, versions[0].criterion)))
        assert hindsight(account, account, facts, (old.steps["hang"], newer)).rule_changed is changed
    assert hindsight(None, account, facts, (None, old.steps["hang"])).rule_changed
