"""What a sign-off rests on besides the evidence: good certificates, and consents where the gym asks for them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from skills.models import SignOff
from skills.services.attempts import AttemptRefusedError
from skills.services.sign_offs import SignOffRefusedError
from tests.factories.athletes import make_certificate, make_consent
from tests.factories.skills import decide, library, log, pass_step


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


@pytest.fixture
def asking(gym: Gym) -> Gym:
    Gym.objects.filter(pk=gym.pk).update(asks_consent=True)
    return gym


def _refused(by: Membership, athlete: Athlete, *, gate: str = "entrance", clearance: str = "present") -> dict[str, str]:
    before = SignOff.objects.count()
    with pytest.raises(SignOffRefusedError) as caught:
        decide(by, athlete, "pullover-3a", gate, clearance=clearance)
    assert SignOff.objects.count() == before
    return {mistake.field: mistake.sentence for mistake in caught.value.mistakes}


def test_nobody_signs_on_a_lapsed_certificate(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    today = timezone.now().astimezone(coach.gym.zone).date()
    make_certificate(coach, by=owner, kind="first_aid", valid_until=today)
    decide(coach, athlete, "pullover-3a", "entrance", decision="not_yet", reason="calmer first")
    make_certificate(coach, by=owner, kind="first_aid", valid_until=today - timedelta(days=1))
    assert "has ended: first aid, last day" in _refused(coach, athlete)["decision"]
    with pytest.raises(AttemptRefusedError, match="Only a coach who may sign off"):
        log(coach, athlete, "pullover-4", closed_reason="shown once")
    make_certificate(coach, by=owner, kind="first_aid")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")


@pytest.mark.usefixtures("asking")
def test_nobody_is_passed_upside_down_or_touched_without_consent(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    upside_down = "There is no consent to going upside down. The athlete gives it, on the athlete's page of consents."
    assert _refused(coach, athlete) == {"decision": upside_down}
    assert _refused(coach, athlete, clearance="spotted").keys() == {"decision", "clearance"}
    make_consent(athlete, by=coach, kind="inversion")
    assert "hands-on spotting" in _refused(coach, athlete, clearance="spotted")["clearance"]
    make_consent(athlete, by=coach, kind="spotting")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")


@pytest.mark.usefixtures("asking")
def test_a_consent_that_was_withdrawn_or_said_by_the_wrong_person_is_none(
    coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    for who, wrong in ((athlete, "guardian"), (minor, "athlete")):
        pass_step(coach, who, "pullover-3")
        make_consent(who, by=coach, said_by=wrong)
        assert _refused(coach, who).keys() == {"decision"}
    make_consent(athlete, by=coach)
    make_consent(athlete, by=coach, given=False)
    assert "(withdrawn)" in _refused(coach, athlete)["decision"]
    make_consent(minor, by=coach)
    decide(coach, minor, "pullover-3a", "entrance")


@pytest.mark.usefixtures("asking")
def test_a_not_yet_and_a_revocation_need_no_consent(coach: Membership, athlete: Athlete) -> None:
    make_consent(athlete, by=coach)
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance")
    make_consent(athlete, by=coach, given=False)
    decide(coach, athlete, "pullover-3a", "entrance", decision="revoked", reason="took consent back")
    decide(coach, athlete, "pullover-3a", "entrance", decision="not_yet", reason="no consent")


def test_a_gym_that_does_not_ask_goes_on_without(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
