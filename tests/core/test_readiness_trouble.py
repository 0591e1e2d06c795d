"""What was passed and then shaken: flags, trouble, and clearance lowered to spotted."""

import pytest

from skills.core.criteria import HoldTarget
from skills.core.facts import History
from skills.core.findings import DueForRecheck, Flagged, Showing
from tests.core.notebook import (
    at,
    attempt,
    attempts,
    caution,
    change_at,
    missing_at,
    opening,
    rules,
    sign_off,
    step,
    timeline_of,
    void,
)

FIVE = {"best": {"seconds": 5}}
SIGNED = rules(step(criterion=FIVE, needs_sign_off=True))


def signed(*, evidence, voided=(), said="finish passed alone"):
    return History(
        attempts=attempts("2 Mar 18:00, 5 s", "2 Mar 18:05, 5 s"),
        voids=void(*voided),
        sign_offs=(sign_off("3 Mar 18:00", said, evidence=evidence),),
    )


@pytest.mark.parametrize(
    ("history", "flags"),
    [
        (signed(evidence=("n1", "n2")), ()),
        (signed(evidence=("n1", "n2"), voided=("n2",)), ("evidence_voided",)),
        (signed(evidence=("n1",), voided=("n2",)), ()),
        (signed(evidence=("n1",), voided=("n1", "n2")), ("evidence_voided", "not_met_in_hindsight")),
        (signed(evidence=(), voided=("n1", "n2")), ("not_met_in_hindsight",)),
        (signed(evidence=("n1",), voided=("n1", "n2"), said="finish not_yet"), ()),
    ],
)
def test_sign_off_in_force_carries_flags_when_what_it_rests_on_is_voided(history, flags):
    assert change_at(SIGNED, history, "2 Mar 19:00").flags == ()
    after = change_at(SIGNED, history, "3 Mar 18:00")
    assert (after.flags, after.trouble) == (flags, bool(flags))
    flagged = [each for each in missing_at(SIGNED, history, "3 Mar 18:00") if isinstance(each, Flagged)]
    assert flagged == ([Flagged(flags)] if flags else [])


def test_flag_is_gone_with_the_next_decision():
    history = signed(evidence=("n1",), voided=("n1",))
    again = sign_off("5 Mar 18:00", "finish passed alone", evidence=("n2",))
    history = History(history.attempts, history.voids, (), (*history.sign_offs, again))
    assert [change_at(SIGNED, history, when).flags for when in ("5 Mar 17:59", "5 Mar 18:00")] == [
        ("evidence_voided",),
        (),
    ]


def test_entrance_sign_off_on_voided_evidence_carries_a_flag_too():
    book = rules(step(criterion=FIVE, asks_clearance=True))
    history = History(
        voids=void("n1"),
        openings=(opening("3 Mar 18:00"),),
        sign_offs=(sign_off("3 Mar 18:00", "entrance passed present", evidence=("n1",)),),
    )
    assert change_at(book, history, "3 Mar 18:00").flags == ("evidence_voided",)


def test_passing_a_step_whose_criterion_was_not_met_carries_a_flag_even_if_it_is_met_later():
    history = History(
        attempts=attempts("4 Mar 18:00, 5 s"), sign_offs=(sign_off("3 Mar 18:00", "finish passed alone"),)
    )
    assert change_at(SIGNED, history, "9 Mar 18:00").flags == ("not_met_in_hindsight",)


def test_fault_entered_late_shows_that_a_sign_off_was_early():
    book = rules(step(criterion={"last": {"clean": 2, "of": 2, "seconds": 5}}, needs_sign_off=True))
    signs = (sign_off("3 Mar 18:00", "finish passed alone"),)
    two = attempts("2 Mar 18:00, 5 s", "2 Mar 18:05, 5 s")
    fault = attempt("2 Mar 18:10, 5 s, fault", id="late")
    assert change_at(book, History(attempts=two, sign_offs=signs), "9 Mar 18:00").flags == ()
    seen = change_at(book, History(attempts=(*two, fault), sign_offs=signs), "9 Mar 18:00")
    assert (seen.base, seen.flags) == ("passed", ("not_met_in_hindsight",))


# A pull-up leads to an inverted step, and that to one over the bar; all but the first are hazardous.
WAY = rules(
    step("pull", FIVE, needs_sign_off=True, recheck_days=30),
    step(
        "inverted", FIVE, requires=("pull",), asks_clearance=True, needs_sign_off=True, inverted=True, loads="inversion"
    ),
    step("over", FIVE, requires=("inverted",), asks_clearance=True, needs_sign_off=True, loads="support"),
    step("beside", FIVE, requires=("pull",), asks_clearance=True, needs_sign_off=True, loads="support"),
)


def walked(*more, **others):
    """Everything passed on 3 March and cleared *alone*, with more sign-offs after it."""
    codes = ("pull", "inverted", "over", "beside")
    return History(
        attempts=tuple(attempt("2 Mar 18:00, 5 s", id=f"n {code}", step=code) for code in codes),
        openings=tuple(opening("1 Mar 18:00", code) for code in codes),
        sign_offs=(*(sign_off("3 Mar 18:00", "finish passed alone", code) for code in codes), *more),
        **others,
    )


def seen_at(history, when):
    found = {code: change_at(WAY, history, when, code) for code in WAY.order}
    return {code: (change.base, change.clearance, change.flags, change.trouble) for code, change in found.items()}


FELL = ("prerequisite_fell",)


def test_nothing_is_lowered_without_trouble():
    assert seen_at(walked(), "4 Mar 18:00") == {
        "pull": ("passed", "", (), False),
        "beside": ("passed", "alone", (), False),
        "inverted": ("passed", "alone", (), False),
        "over": ("passed", "alone", (), False),
    }


def test_recheck_of_an_early_step_lowers_clearance_of_what_is_inverted_and_follows():
    # Due 30 days after 3 March; nothing has fallen, for due for a recheck is still good enough to stand on.
    assert seen_at(walked(), "2 Apr 00:00") == {
        "pull": ("recheck", "", (), True),
        "beside": ("passed", "alone", (), True),  # no hazard here
        "inverted": ("passed", "spotted", (), True),
        "over": ("passed", "spotted", (), True),
    }
    timeline = timeline_of(WAY, walked(), "over")
    assert [timeline.at(at("2 Apr 00:00") + beside).clearance for beside in (-1, 0)] == ["alone", "spotted"]


def test_clearance_is_back_as_soon_as_the_early_step_is_shown_again():
    history = walked()
    shown = attempt("9 Apr 18:00, 5 s", id="again", step="pull")
    history = History((*history.attempts, shown), (), history.openings, history.sign_offs)
    assert [change_at(WAY, history, when, "over").clearance for when in ("9 Apr 17:59", "9 Apr 18:00")] == [
        "spotted",
        "alone",
    ]


def test_revoked_finish_flags_what_follows_and_lowers_its_clearance():
    history = walked(sign_off("5 Mar 18:00", "finish revoked", "inverted"))
    assert seen_at(history, "5 Mar 18:00") == {
        "pull": ("passed", "", (), False),
        "beside": ("passed", "alone", (), False),
        "inverted": ("working", "", (), True),
        "over": ("passed", "spotted", FELL, True),
    }


def test_revoked_finish_falls_back_to_the_clearance_of_the_entrance_lowered_while_in_trouble():
    entrance = sign_off("1 Mar 18:00", "entrance passed present", "inverted")
    revoked = sign_off("5 Mar 18:00", "finish revoked", "inverted")
    not_yet = sign_off("6 Mar 18:00", "finish not_yet", "inverted")
    history = walked(entrance, revoked, not_yet)
    assert [change_at(WAY, history, when, "inverted").clearance for when in ("4 Mar 18:00", "5 Mar 18:00")] == [
        "alone",
        "spotted",
    ]
    # A "not yet" after it is no trouble; what was revoked stays revoked, and the entrance's clearance stands.
    after = change_at(WAY, history, "6 Mar 18:00", "inverted")
    assert (after.clearance, after.trouble) == ("present", False)


def test_revoked_finish_of_a_step_that_was_never_cleared_otherwise_leaves_no_clearance_to_lower():
    history = walked(sign_off("5 Mar 18:00", "finish revoked", "over"))
    after = change_at(WAY, history, "5 Mar 18:00", "over")
    assert (after.base, after.clearance, after.trouble) == ("working", "", True)


def test_flag_on_an_early_step_lowers_what_follows():
    history = walked(voids=void("n pull"))
    assert seen_at(history, "4 Mar 18:00") == {
        "pull": ("passed", "", ("not_met_in_hindsight",), True),
        "beside": ("passed", "alone", (), True),
        "inverted": ("passed", "spotted", (), True),
        "over": ("passed", "spotted", (), True),
    }


def test_closed_step_has_no_flags_and_no_clearance_and_flags_what_follows():
    history = walked(sign_off("5 Mar 18:00", "entrance revoked", "inverted"), voids=void("n inverted"))
    seen = seen_at(history, "5 Mar 18:00")
    assert seen["inverted"] == ("closed", "", (), False)
    assert seen["over"] == ("passed", "spotted", FELL, True)
    assert missing_at(WAY, history, "5 Mar 18:00", "over") == (Flagged(FELL),)


def test_caution_on_an_early_step_is_no_trouble():
    seen = seen_at(walked(cautions=(caution("4 Mar 18:00"),)), "5 Mar 18:00")
    assert seen["pull"] == ("passed", "", (), False)
    assert seen["over"] == ("passed", "alone", (), False)


def test_recheck_is_told_before_the_flag():
    history = walked(voids=void("n pull"))
    assert missing_at(WAY, history, "9 Apr 18:00", "pull") == (
        DueForRecheck(at("2 Apr 00:00"), (Showing(HoldTarget(50), clean=True),)),
        Flagged(("not_met_in_hindsight",)),
    )
