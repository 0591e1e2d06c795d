"""Kept timelines equal a rebuild, to the byte, whatever was done and in whatever order it arrived."""

import random
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.utils import timezone

from athletes.models import Athlete, Caution, Gym, Membership
from skills.core.entries import ASSISTANCES
from skills.models import Attempt, Opening, StepTimeline
from skills.queries.books import book_of
from skills.queries.standings import sign_off_queue
from skills.services.attempts import AttemptRefusedError, void_attempt
from skills.services.cautions import enter_caution, lift_caution
from skills.services.gyms import change_gym
from skills.services.readiness import rebuild_athlete, rebuilt
from skills.services.sign_offs import SignOffRefusedError
from tests.factories.skills import decide, library, log, meet, pass_step, step_of
from tests.helpers.standing import standing_now

STEPS = ("pullover-1", "pullover-2", "pullover-3", "pullover-3a", "pullover-5a", "toes-2", "pull-up-1")


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def _differences(athlete: Athlete) -> tuple[str, ...]:
    book = book_of(Gym.objects.get(pk=athlete.gym_id))
    return rebuild_athlete(book=book, athlete=athlete, now=timezone.now(), store=False)


class _Coach:
    """Does one thing after another at random, among them late arrivals, voids, decisions and cautions."""

    def __init__(self, by: Membership, athlete: Athlete, seed: int) -> None:
        self.by, self.athlete, self.random = by, athlete, random.Random(seed)

    def act(self) -> None:
        acts = [self.log, self.meet, self.void, self.decide, self.caution, self.lift]
        self.random.choices(acts, weights=[8, 4, 2, 6, 1, 1])[0]()

    def log(self) -> None:
        code = self.random.choice(STEPS)
        is_hold = book_of(Gym.objects.get(pk=self.athlete.gym_id)).steps[code].form.is_hold
        figures = {"seconds": self.random.choice([1.9, 2.0, 4.9, 5.0, 20.0])} if is_hold else {"reps": 2, "grade": 0}
        days = self.random.choice([0.0, 0.5, 1.0, 3.0, 20.0, 40.0])
        assistance = self.random.choice([*ASSISTANCES, "none", "none", "none"])
        source = self.random.choice(["judged", "judged", "counted", "own"])
        log(self.by, self.athlete, code, days_ago=days, assistance=assistance, source=source, **figures)

    def meet(self) -> None:
        meet(self.by, self.athlete, self.random.choice(STEPS), days_ago=self.random.choice([0, 2, 30]))

    def void(self) -> None:
        attempts = list(Attempt.objects.filter(athlete=self.athlete, void=None).order_by("id"))
        if attempts:
            void_attempt(by=self.by, attempt=self.random.choice(attempts), reason="wrong time")

    def decide(self) -> None:
        waiting = sign_off_queue(book_of(Gym.objects.get(pk=self.athlete.gym_id)), self.athlete.gym, timezone.now())
        code, gate = (waiting[0].page.code, waiting[0].now.awaits) if waiting else ("pullover-3a", "finish")
        decision = self.random.choice(["passed", "passed", "not_yet", "revoked"])
        reason = "" if decision == "passed" else "as seen today"
        decide(self.by, self.athlete, code, gate, decision=decision, reason=reason)

    def caution(self) -> None:
        loads = frozenset({self.random.choice(["hanging", "inversion", "support"])})
        until = timezone.now() + timedelta(days=3) if self.random.random() < 0.5 else None
        enter_caution(
            by=self.by, athlete=self.athlete, loads=loads, from_at=timezone.now(), until_at=until, reason="sore"
        )

    def lift(self) -> None:
        for caution in Caution.objects.filter(athlete=self.athlete, lifts=None):
            lift_caution(by=self.by, caution=caution)


@pytest.mark.parametrize("seed", range(6))
def test_kept_timelines_equal_a_rebuild_after_random_acts(coach: Membership, athlete: Athlete, seed: int) -> None:
    pass_step(coach, athlete, "pullover-3")
    actor = _Coach(coach, athlete, seed)
    done = 0
    for _ in range(25):
        try:
            actor.act()
            done += 1
        except (AttemptRefusedError, SignOffRefusedError):
            continue
    assert done > 5
    assert _differences(athlete) == ()


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
