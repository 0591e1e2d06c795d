"""A month planned in several ways: the search is never worth less, and the same classes give the same table."""

from dataclasses import replace

import pytest

from skills.core.rotation import compared as module
from skills.core.rotation.asks import Plan, Seat
from skills.core.rotation.compared import WAYS, compared
from skills.core.rotation.what_if import Minutes
from tests.core.rotation.classes import gyms

MINUTES = Minutes(12, 3)
ASKS = [gyms(seed, people=12, rotations=4, stations=6, adjustable=2) for seed in (0, 1, 2)]


@pytest.fixture(scope="module")
def totals():
    return {total.way: total for total in compared(ASKS, MINUTES)}


def test_every_way_is_told(totals):
    assert list(totals) == list(WAYS)


def test_the_search_is_worth_most_and_others_are_told_how_far_they_are_from_its_bound(totals):
    planned, first, round_about = (totals[way] for way in ("planned", "first come", "fixed circuit"))
    assert planned.worth > first.worth > round_about.worth
    assert 0 <= planned.gap <= 0.01 < first.gap < round_about.gap


def test_bars_set_at_will_are_set_more_often_than_a_class_allows_and_have_no_gap(totals):
    at_will = totals["first come, bars set anew at will"]
    assert at_will.resets > len(ASKS) >= totals["first come"].resets
    assert at_will.gap is None


def test_the_same_classes_give_the_same_figures(totals):
    assert {total.way: total for total in compared(ASKS, MINUTES)} == totals


def test_a_plan_that_breaks_a_rule_is_not_compared(monkeypatch):
    def crowded(ask):
        return Plan(tuple(Seat(0, key, 0, "nowhere") for key in ask.person), {}, (), 0, 0, "stopped")

    monkeypatch.setattr(module, "WAYS", {"planned": crowded})
    with pytest.raises(AssertionError, match="not a choice of theirs"):
        compared([replace(ASKS[0], rotations=1)], MINUTES)
