import json

import pytest

from tests.bench.figures import Figure, Timing, duration, json_line, side_by_side


def figure(took, over, goal=3.0):
    return Figure("log_over_insert", goal, Timing("log", took), Timing("insert", over))


@pytest.mark.parametrize(("seconds", "median"), [([3.0], 3.0), ([9.0, 1.0, 2.0], 2.0), ([4.0, 1.0, 2.0, 9.0], 3.0)])
def test_the_median_is_the_time_in_the_middle(seconds, median):
    assert Timing("log", seconds).median == median


def test_the_ratio_is_median_over_median_whatever_one_slow_time_did():
    assert figure([0.2, 0.3, 90.0], [0.1, 0.1, 0.1]).ratio == 3.0


@pytest.mark.parametrize(("goal", "met"), [(2.999, False), (3.0, True), (3.001, True)])
def test_a_goal_is_the_most_that_the_ratio_may_be(goal, met):
    assert figure([3.0], [1.0], goal).met is met


def test_the_json_line_is_a_list_of_name_ratio_goal_and_met():
    line = json_line([figure([1.0], [3.0])])
    assert "\n" not in line
    assert json.loads(line) == [{"name": "log_over_insert", "ratio": 0.333, "goal": 3.0, "met": True}]


def test_the_row_for_people_tells_both_times_and_a_missed_goal():
    row = figure([0.004, 0.002, 0.003], [0.0005], goal=5.9).row()
    assert "6.00   goal at most 5.9    MISSED" in row
    assert "log: 3.00 ms (median of 3, worst 4.00 ms)" in row
    assert row.endswith("over insert: 500.0 µs")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(61.0, "61.00 s"), (1.0, "1.00 s"), (0.999, "999.00 ms"), (0.002, "2.00 ms"), (2e-6, "2.0 µs")],
)
def test_a_duration_stands_in_the_unit_that_suits_it(seconds, words):
    assert duration(seconds) == words


def test_two_acts_are_timed_in_turns_and_who_begins_changes():
    calls = []
    took, floor = side_by_side(2, lambda: calls.append("one"), lambda: calls.append("other"))
    assert calls == ["other", "one", "one", "other"]
    assert (len(took), len(floor)) == (2, 2)
