"""Without consent nobody is upside down or touched: what is refused from when, and what stays."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from athletes.services.consents import record_consent
from gymtrack.lib.ids import new_id
from skills.core.entries import Mistake
from skills.models import Attempt, StepTimeline
from skills.services.attempts import AttemptRefusedError, log_attempt
from skills.services.corrections import mend_attempt, result_of
from tests.factories.athletes import make_consent
from tests.factories.skills import decide, entry_of, library, pass_step, reach

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _asking(gym: Gym, owner: Membership) -> None:
    library(gym, owner)
    Gym.objects.filter(pk=gym.pk).update(asks_consent=True)


@pytest.fixture
def agreed(coach: Membership, athlete: Athlete) -> Athlete:
    """Ada, who agreed to both a month ago and is past her first inversion."""
    for kind in ("spotting", "inversion"):
        make_consent(athlete, by=coach, kind=kind, at=timezone.now() - timedelta(days=400))
    pass_step(coach, athlete, "pullover-3a")
    return athlete


def _mistakes(by: Membership, entry: object) -> tuple[Mistake, ...]:
    with pytest.raises(AttemptRefusedError) as caught:
        log_attempt(by=by, entry=entry)  # type: ignore[arg-type]
    return caught.value.mistakes


def test_a_try_upside_down_is_refused_from_the_moment_of_the_withdrawal(coach: Membership, agreed: Athlete) -> None:
    record_consent(by=coach, athlete=agreed, kind="inversion", given=False, said_at=timezone.now() - 2 * HOUR)
    (mistake,) = _mistakes(coach, entry_of(agreed, "pullover-3a", seconds=5.0, days_ago=1 / 24))
    assert mistake.field == "step"
    assert "no consent to going upside down (withdrawn)" in mistake.sentence
    before = log_attempt(by=coach, entry=entry_of(agreed, "pullover-3a", seconds=5.0, days_ago=3 / 24))
    assert before.created


def test_what_was_logged_and_how_it_stands_stays_and_goes_on_after_a_yes(coach: Membership, agreed: Athlete) -> None:
    kept = [*StepTimeline.objects.order_by("pk").values_list("changes", flat=True)]
    logged = Attempt.objects.count()
    record_consent(by=coach, athlete=agreed, kind="inversion", given=False)
    assert [*StepTimeline.objects.order_by("pk").values_list("changes", flat=True)] == kept
    assert Attempt.objects.count() == logged
    record_consent(by=coach, athlete=agreed, kind="inversion", given=True)
    assert log_attempt(by=coach, entry=entry_of(agreed, "pullover-3a", seconds=5.0)).created


def test_a_step_the_right_way_up_goes_on_without(coach: Membership, athlete: Athlete) -> None:
    assert log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=5.0)).created


def test_no_hand_is_logged_on_who_did_not_agree_to_be_touched(coach: Membership, athlete: Athlete) -> None:
    (mistake,) = _mistakes(coach, entry_of(athlete, "pullover-1", seconds=5.0, assistance="spot"))
    assert "no consent to hands-on spotting" in mistake.sentence
    make_consent(athlete, by=coach, kind="spotting", at=timezone.now() - HOUR)
    assert log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=5.0, assistance="spot")).created


def test_nor_is_one_put_there_by_a_mend(coach: Membership, athlete: Athlete) -> None:
    logged = log_attempt(by=coach, entry=entry_of(athlete, "pullover-1", seconds=5.0)).attempt
    spotted, new = replace(result_of(logged), assistance="spot"), new_id()
    with pytest.raises(AttemptRefusedError) as caught:
        mend_attempt(by=coach, attempt=logged, new_id=new, result=spotted)
    (mistake,) = caught.value.mistakes
    assert mistake.field == "assistance"
    assert "no consent to hands-on spotting" in mistake.sentence
    assert [*Attempt.objects.filter(void=None)] == [logged]
    make_consent(athlete, by=coach, kind="spotting", at=timezone.now() - HOUR)
    assert mend_attempt(by=coach, attempt=logged, new_id=new, result=spotted).created


def test_a_spot_that_was_agreed_to_then_is_mended_otherwise_after_a_no(coach: Membership, agreed: Athlete) -> None:
    entry = entry_of(agreed, "pullover-1", seconds=5.0, assistance="spot", days_ago=1)
    logged = log_attempt(by=coach, entry=entry).attempt
    record_consent(by=coach, athlete=agreed, kind="spotting", given=False)
    mended = mend_attempt(by=coach, attempt=logged, new_id=new_id(), result=replace(result_of(logged), effort=8))
    assert mended.attempt.assistance == "spot"


def test_a_step_cleared_spotted_is_stopped_without_consent_to_spotting(coach: Membership, athlete: Athlete) -> None:
    make_consent(athlete, by=coach, kind="inversion", at=timezone.now() - timedelta(days=400))
    make_consent(athlete, by=coach, kind="spotting", at=timezone.now() - timedelta(days=400))
    reach(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-3a", gate="entrance", clearance="spotted")
    record_consent(by=coach, athlete=athlete, kind="spotting", given=False)
    (mistake,) = _mistakes(coach, entry_of(athlete, "pullover-3a", seconds=5.0))
    assert "no consent to hands-on spotting (withdrawn)" in mistake.sentence


def test_a_gym_that_does_not_ask_goes_on(gym: Gym, coach: Membership, agreed: Athlete) -> None:
    Gym.objects.filter(pk=gym.pk).update(asks_consent=False)
    record_consent(by=coach, athlete=agreed, kind="inversion", given=False)
    assert log_attempt(by=coach, entry=entry_of(agreed, "pullover-3a", seconds=5.0)).created
