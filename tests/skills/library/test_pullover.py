"""The bar pullover's ladder, edge by edge: trade practice, no published source."""

import pytest

from skills.library import shipped_skills

STEPS = {step.label: step for skill in shipped_skills() if skill.skill == "bar-pullover" for step in skill.steps}
LABELS = {step.code: label for label, step in STEPS.items()}

each_over_bar = pytest.mark.parametrize("label", ["6", "7", "8"])


def edges() -> set[tuple[str, str]]:
    return {(LABELS[code], label) for label, step in STEPS.items() for code in step.requires}


def test_steps_stand_in_the_order_of_the_ladder():
    assert list(STEPS) == ["1", "2", "3", "3a", "4", "5", "5a", "6", "7", "8"]


def test_edges_are_those_of_the_ladder():
    ladder = {("1", "3"), ("3", "3a"), ("3a", "4"), ("4", "7")}
    over_the_bar = {("1", "6"), ("5a", "6"), ("6", "7")}
    long_legs = {("1", "2"), ("2", "8"), ("5", "8"), ("7", "8")}
    side_drill = {("4", "5")}
    assert edges() == ladder | over_the_bar | long_legs | side_drill


def test_straight_legs_gate_none_of_the_tucked_steps():
    assert {after for before, after in edges() if before == "2"} == {"8"}


def test_side_drill_gates_only_the_straight_legged_pullover():
    assert [label for label, step in STEPS.items() if step.side_drill] == ["5"]
    assert {after for before, after in edges() if before == "5"} == {"8"}


def test_entrance_asks_clearance_and_finish_a_sign_off_on_six_steps():
    guarded = ["3a", "4", "5", "6", "7", "8"]
    assert [label for label, step in STEPS.items() if step.asks_clearance] == guarded
    assert [label for label, step in STEPS.items() if step.needs_sign_off] == guarded


def test_only_the_turn_over_the_low_bar_needs_its_check_of_today():
    assert [label for label, step in STEPS.items() if step.low_bar_check] == ["6"]


def test_low_bar_set_up_names_ties_load_anchor_reach_mat_and_check():
    told = " ".join(STEPS["6"].set_up).lower()
    wanted = (
        "tied down at both hooks",
        "no weight",
        "anchored",
        "nothing above or behind",
        "mats",
        "by name today",
    )
    assert [words for words in wanted if words not in told] == []


@pytest.mark.parametrize("label", ["7", "8"])
def test_turn_from_a_hang_sends_the_box_away(label):
    told = " ".join(STEPS[label].set_up).lower()
    assert "box" in told
    assert "feet" in told


@each_over_bar
def test_letting_go_early_is_a_dangerous_fault(label):
    faults = {fault.code: fault.dangerous for fault in STEPS[label].faults}
    assert faults["lets-go-early"] is True
    assert faults["grip-never-shifts"] is False


@each_over_bar
def test_turn_over_the_bar_is_inverted_and_has_a_way_down(label):
    step = STEPS[label]
    assert step.inverted
    assert step.over_bar
    assert "stuck" in (step.getting_down or "") or "wrong" in (step.getting_down or "")


def test_straight_leg_hold_takes_bent_knees_as_a_variant():
    assert [variant.code for variant in STEPS["2"].variants] == ["knees-bent"]


def test_pull_is_graded_from_chin_to_chest():
    assert STEPS["3"].grades == ("chin", "collarbone", "chest")


@pytest.mark.parametrize("label", ["1", "2", "3a"])
def test_holds_ask_the_first_standard(label):
    assert STEPS[label].criterion == {"holds": {"count": 3, "seconds": 5, "dates": 2}}


def test_front_support_is_held_for_ten_seconds():
    assert STEPS["5a"].criterion == {"holds": {"count": 3, "seconds": 10, "dates": 2}}
    assert STEPS["5a"].dose.hold_seconds == 10


def test_front_support_tells_the_way_down_and_what_to_do_when_stuck():
    told = STEPS["5a"].getting_down or ""
    assert "roll slowly forward" in told
    assert "When stuck" in told
