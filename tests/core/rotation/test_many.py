"""Thousands of random classes: every plan that is made keeps every rule, by a check that shares nothing with it.

In blocks of seeds, so that several processes share them.
"""

import pytest

from skills.core.rotation.checking import broken_rules, worth_of
from skills.core.rotation.clashes import smallest_clash
from skills.core.rotation.highs import InfeasibleError
from skills.core.rotation.solving import Effort, best_plan
from tests.core.rotation.classes import gyms, small

SMALL_BLOCK, MEDIUM_BLOCK = 100, 15
SIZES = (
    {"people": 8, "rotations": 3, "stations": 5, "adjustable": 1},
    {"people": 12, "rotations": 4, "stations": 6, "adjustable": 1},
    {"people": 12, "rotations": 3, "stations": 6, "adjustable": 2},
)
# A plan in hand, proved good or not: what is looked at is whether it keeps the rules.
SOON = Effort(gap=0.05, lines=60, nodes=50, seconds=60.0)


@pytest.mark.parametrize("block", range(22))
def test_small_classes_of_every_shape(block):
    planned = clashed = 0
    for seed in range(10_000 + block * SMALL_BLOCK, 10_000 + (block + 1) * SMALL_BLOCK):
        ask = small(seed, people=6, rotations=3, stations=4)
        try:
            plan = best_plan(ask, SOON)
        except InfeasibleError:
            clashed += 1
            assert smallest_clash(ask) is not None, seed
            continue
        planned += 1
        assert broken_rules(ask, plan) == (), seed
        assert plan.worth == worth_of(ask, plan) <= plan.bound, seed
    assert planned > 2 * clashed > 0  # most have a plan, and some blocks would else prove nothing of clashes


@pytest.mark.parametrize("most_resets", [1, None])
@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("block", range(4))
def test_classes_as_gyms_have_them(block, size, most_resets):
    for seed in range(500 + block * MEDIUM_BLOCK, 500 + (block + 1) * MEDIUM_BLOCK):
        ask = gyms(seed, **size, most_resets=most_resets)
        plan = best_plan(ask, SOON)
        assert broken_rules(ask, plan) == (), seed
        assert plan.worth == worth_of(ask, plan) <= plan.bound, seed
