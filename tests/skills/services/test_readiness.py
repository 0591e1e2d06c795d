"""Kept timelines equal a rebuild, to the byte, whatever was done and in whatever order it arrived."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from skills.models import Attempt, Opening, StepTimeline
from skills.queries.books import book_of
from skills.services.gyms import change_gym
from skills.services.readiness import rebuild_athlete, rebuilt
from tests.factories.skills import library, log, meet, pass_step, step_of
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def _differences(athlete: Athlete) -> tuple[str, ...]:
    book = book_of(Gym.objects.get(pk=athlete.gym_id))
    return rebuild_athlete(book=book, athlete=athlete, now=timezone.now(), store=False)


def test_a_late_attempt_changes_what_came_after_it(coach: Membership, athlete: Athlete) -> None:
    """Logged out of order: the third hold arrives last and lies first."""
    log(coach, athlete, "pullover-1", 5.0, days_ago=1)
    log(coach, athlete, "pullover-1", 5.0, days_ago=2)
    log(coach, athlete, "pullover-1", 5.0, days_ago=9)
    opening = Opening.objects.get(athlete=athlete, step__code="pullover-3")
    latest = Attempt.objects.filter(athlete=athlete).order_by("-happened_at").first()
    assert latest is not None
    assert opening.happened_at == latest.happened_at
    assert _differences(athlete) == ()


def test_no_row_is_kept_for_a_step_without_facts(coach: Membership, athlete: Athlete) -> None:
    log(coach, athlete, "pullover-1", 1.0)
    assert not StepTimeline.objects.filter(athlete=athlete).exists()


def test_rebuild_check_finds_a_byte_that_differs_and_rebuild_mends_it(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3a")
    call_command("rebuild", "--check")
    row = StepTimeline.objects.get(athlete=athlete, step__code="pullover-3a")
    good = row.changes
    StepTimeline.objects.filter(pk=row.pk).update(changes=good.replace("present", "alone"))
    with pytest.raises(CommandError, match="1 timelines of 1 athletes differ"):
        call_command("rebuild", "--check")
    call_command("rebuild")
    assert StepTimeline.objects.get(pk=row.pk).changes == good


def test_rebuild_makes_missing_timelines_and_removes_strange_ones(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-1")
    before = dict(StepTimeline.objects.filter(athlete=athlete).values_list("step__code", "changes"))
    strange = StepTimeline.objects.get(athlete=athlete, step__code="pullover-1")
    StepTimeline.objects.filter(athlete=athlete).exclude(pk=strange.pk).delete()
    StepTimeline.objects.create(
        gym=athlete.gym, athlete=athlete, step=step_of(athlete.gym, "l-hold-2"), changes=strange.changes
    )
    call_command("rebuild", "--gym", athlete.gym.slug)
    assert dict(StepTimeline.objects.filter(athlete=athlete).values_list("step__code", "changes")) == before


def test_rebuild_of_an_unknown_gym_names_the_known_ones(gym: Gym) -> None:
    with pytest.raises(CommandError, match=gym.slug):
        call_command("rebuild", "--gym", "nowhere")


def test_a_rebuild_reads_facts_alone(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-1")
    StepTimeline.objects.filter(athlete=athlete).delete()
    again = rebuilt(book=book_of(Gym.objects.get(pk=athlete.gym_id)), athlete=athlete, now=timezone.now())
    assert again["pullover-1"].changes[-2].base == "passed"


def test_another_time_zone_moves_the_days(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    """23:30 and 00:30 in Berlin lie on two days; in Lisbon, an hour behind, on one."""
    night = datetime(2026, 2, 10, 22, 30, tzinfo=UTC)
    with time_machine.travel(datetime(2026, 2, 11, 12, tzinfo=UTC)):
        for at in (night, night, night + timedelta(hours=1)):
            log(coach, athlete, "pullover-1", 5.0, at=at)
        assert standing_now(athlete, "pullover-1").base == "passed"
        change_gym(member=owner, name="Harbour Hall", time_zone="Europe/Lisbon", units="metric")
        assert standing_now(athlete, "pullover-1").base == "working"
    assert _differences(athlete) == ()


def test_settings_that_were_read_before_anothers_change_move_the_days_back_too(
    owner: Membership, coach: Membership, athlete: Athlete
) -> None:
    meet(coach, athlete, "pullover-1", days_ago=3)
    read_before = Membership.objects.select_related("gym").get(pk=owner.pk)
    change_gym(member=owner, name="Harbour Hall", time_zone="Pacific/Auckland", units="metric")
    change_gym(member=read_before, name="Harbour East", time_zone="Europe/Berlin", units="metric")
    call_command("rebuild", "--check")
