"""The plans made without a solver keep every rule too, and are never worth more than the proven bound."""

import pytest

from skills.core.rotation.checking import broken_rules, worth_of
from skills.core.rotation.simple import circuit, first_come
from skills.core.rotation.solving import Effort, best_plan
from tests.core.rotation.classes import gyms, small


@pytest.mark.parametrize("way", [first_come, circuit])
@pytest.mark.parametrize("seed", range(300))
def test_every_hard_rule_is_kept(way, seed):
    ask = small(seed, people=8, rotations=3, stations=4)
    plan = way(ask)
    # A pin is a wish to these: they know no way around a station that is full.
    assert [broken for broken in broken_rules(ask, plan) if broken.rule != "not where the coach put them"] == []
    assert plan.worth == worth_of(ask, plan)


@pytest.mark.parametrize("seed", range(6))
def test_the_solver_is_never_worth_less(seed):
    ask = gyms(seed, people=12, rotations=4, stations=6, adjustable=1)
    planned = best_plan(ask, Effort(gap=0.0))
    assert max(first_come(ask).worth, circuit(ask).worth) <= planned.worth <= planned.bound
