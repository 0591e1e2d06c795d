"""Kept timelines equal a rebuild, to the byte, after random acts in any order and at any time."""

import pytest

from athletes.models import Athlete, Gym, Membership
from skills.models import Attempt, CriterionVersion, StepTimeline
from tests.factories.athletes import make_athlete
from tests.factories.skills import library
from tests.helpers.walks import Walk

EVERY_ACT = {*("log", "practise", "void", "decide", "revoke", "caution", "lift", "adopt", "bring_in", "move_zone")}


@pytest.fixture
def athletes(gym: Gym, owner: Membership) -> list[Athlete]:
    library(gym, owner)
    return [make_athlete(gym, f"Person {number} Example") for number in range(1, 4)]


@pytest.mark.parametrize("seed", range(4))
def test_kept_timelines_equal_a_rebuild_after_each_random_act(
    owner: Membership, athletes: list[Athlete], seed: int
) -> None:
    walk = Walk(seed, owner, athletes)
    for _ in range(40):
        walk.act()
        assert walk.differing() == ()
    assert walk.done["refused"] < 25


def test_kept_timelines_equal_a_rebuild_over_thousands_of_facts(owner: Membership, athletes: list[Athlete]) -> None:
    walk = Walk(0, owner, athletes, import_rows=400)
    for number in range(800):
        walk.act()
        if number % 100 == 0:
            assert walk.differing() == (), number
    assert walk.differing() == ()
    assert {*walk.done} == EVERY_ACT | {"refused"}
    assert Attempt.objects.count() > 3000
    assert CriterionVersion.objects.filter(number__gt=1).count() > 10
    assert StepTimeline.objects.filter(changes__contains='"passed"').exists()
