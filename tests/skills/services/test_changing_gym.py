"""Somebody who trains in one gym and then in another: facts stay where they happened, and the new gym starts anew."""

from datetime import date

import pytest
from django.core.management import call_command
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from skills.models import Attempt, Opening, StepTimeline
from skills.queries.books import book_of
from skills.queries.histories import histories_of
from skills.services.attempts import AttemptRefusedError
from skills.services.cautions import enter_caution
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, log, pass_step
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _libraries(gym: Gym, other_gym: Gym, owner: Membership) -> None:
    library(gym, owner)
    library(other_gym)


@pytest.fixture
def moved(coach: Membership, athlete: Athlete, other_gym: Gym) -> Athlete:
    """Ada passes the first step in Berlin, leaves, and joins in New York."""
    pass_step(coach, athlete, "pullover-1")
    athlete.left_on = date(2026, 11, 1)
    athlete.save(update_fields=["left_on"])
    return make_athlete(other_gym, athlete.person.full_name, birth_on=athlete.person.birth_on)


def test_the_new_gym_starts_from_nothing(athlete: Athlete, moved: Athlete) -> None:
    assert standing_now(athlete, "pullover-1").base == "passed"
    assert standing_now(moved, "pullover-1").base == "working"
    assert standing_now(moved, "pullover-3").base == "closed"
    assert not StepTimeline.objects.filter(athlete=moved).exists()
    history = histories_of(book_of(Gym.objects.get(pk=moved.gym_id)), [moved.id])[moved.id]
    assert (history.attempts, history.openings, history.sign_offs) == ((), (), ())


def test_what_is_done_in_the_new_gym_changes_nothing_in_the_old_one(
    athlete: Athlete, moved: Athlete, coach: Membership, other_coach: Membership
) -> None:
    hanging = frozenset({"hanging"})
    now = timezone.now()
    enter_caution(by=other_coach, athlete=moved, loads=hanging, from_at=now, until_at=None, reason="sore hand")
    before = standing_now(athlete, "pullover-1")
    with pytest.raises(AttemptRefusedError, match="A caution forbids this step"):
        log(other_coach, moved, "pullover-1", 5.0)
    log(other_coach, moved, "l-hold-1", 5.0)
    assert standing_now(athlete, "pullover-1") == before
    assert not Attempt.objects.filter(gym=moved.gym, athlete=athlete).exists()
    assert not Opening.objects.filter(athlete=moved).exists()
    call_command("rebuild", "--check")


def test_nobody_logs_for_an_athlete_of_the_other_gym(moved: Athlete, coach: Membership) -> None:
    with pytest.raises(AttemptRefusedError, match="There is no such athlete in this gym"):
        log(coach, moved, "pullover-1", 5.0)
    assert not Attempt.objects.filter(athlete=moved).exists()
