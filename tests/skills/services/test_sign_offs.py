"""Sign-offs: gates are passed in order, decisions carry what they need, and what they open follows."""

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, Gym, Membership, Remark
from skills.models import Opening, SignOff
from skills.queries.books import book_of
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution, lift_caution
from skills.services.sign_offs import Decision, SignOffRefusedError, sign_off
from tests.factories.skills import decide, library, log, meet, page_of, pass_step, reach
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def _refused(*args: object, **kwargs: object) -> dict[str, str]:
    before = SignOff.objects.count()
    with pytest.raises(SignOffRefusedError) as caught:
        decide(*args, **kwargs)  # type: ignore[arg-type]
    assert SignOff.objects.count() == before
    return {mistake.field: mistake.sentence for mistake in caught.value.mistakes}


def _recheck_days(athlete: Athlete, code: str) -> int:
    days = book_of(Gym.objects.get(pk=athlete.gym_id)).rules.steps[code].recheck_days
    assert days is not None
    return days


def test_clearance_at_the_entrance_opens_the_step(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    assert standing_now(athlete, "pullover-3a").awaits == "entrance"
    row = decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert Opening.objects.get(athlete=athlete, step_id=row.step_id).sign_off == row
    now = standing_now(athlete, "pullover-3a")
    assert (now.state, now.clearance, now.awaits) == ("working", "spotted", "")


def test_entrance_rests_on_what_the_required_steps_were_passed_with(coach: Membership, athlete: Athlete) -> None:
    meet(coach, athlete, "pullover-1", days_ago=6)
    tries = meet(coach, athlete, "pullover-3", days_ago=2)
    row = decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert row.evidence == sorted(str(attempt.id) for attempt in tries)


def test_nobody_enters_before_the_required_steps_are_passed(coach: Membership, athlete: Athlete) -> None:
    meet(coach, athlete, "pullover-1", days_ago=1)
    refused = _refused(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert refused == {
        "decision": "First these must stand as passed: 3 " + page_of(athlete.gym, "pullover-3").name + "."
    }


def test_two_roads_into_a_step_are_both_needed(coach: Membership, athlete: Athlete) -> None:
    """The low-bar pullover asks for the tucked hold and for the front support."""
    pass_step(coach, athlete, "pullover-1")
    assert page_of(athlete.gym, "pullover-5a").name in _refused(coach, athlete, "pullover-6", "entrance")["decision"]
    pass_step(coach, athlete, "pullover-5a")
    decide(coach, athlete, "pullover-6", "entrance", clearance="spotted")
    assert standing_now(athlete, "pullover-6").base == "working"


def test_finishing_waits_for_the_criterion(coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    log(coach, athlete, "pullover-3a", 5.0)
    assert "not met" in _refused(coach, athlete, "pullover-3a")["decision"]
    meet(coach, athlete, "pullover-3a")
    assert standing_now(athlete, "pullover-3a").awaits == "finish"
    decide(coach, athlete, "pullover-3a", clearance="alone")
    assert (standing_now(athlete, "pullover-3a").state, standing_now(athlete, "pullover-4").awaits) == (
        "passed",
        "entrance",
    )


def test_an_automatic_step_takes_no_decision(coach: Membership, athlete: Athlete) -> None:
    meet(coach, athlete, "pullover-1")
    assert "by itself" in _refused(coach, athlete, "pullover-1")["decision"]
    assert "no clearance" in _refused(coach, athlete, "pullover-1", "entrance")["decision"]


def test_a_pass_needs_a_clearance_and_a_refusal_a_reason(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    assert _refused(coach, athlete, "pullover-3a", "entrance", clearance="whenever").keys() == {"clearance"}
    assert _refused(coach, athlete, "pullover-3a", "entrance", decision="not_yet").keys() == {"reason"}
    assert _refused(coach, athlete, "pullover-3a", "entrance", decision="not_yet", reason=" ").keys() == {"reason"}


def test_only_who_may_sign_off_signs(coach: Membership, coach_two: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    assert "right to sign off" in _refused(coach_two, athlete, "pullover-3a", "entrance")["decision"]


@pytest.mark.parametrize("came", ["staff first", "athlete first"])
def test_nobody_passes_themselves(coach: Membership, coach_two: Membership, athlete: Athlete, came: str) -> None:
    """A coach who practises here is passed by another one, at either gate; against oneself one may decide."""
    if came == "staff first":
        own = {"account": coach.account, "person": athlete.person, "role": "athlete", "athlete": athlete}
        Membership.objects.create(gym=coach.gym, **own)
    else:
        Membership.objects.filter(pk=coach.pk).update(person=athlete.person)
        coach.refresh_from_db()
    Membership.objects.filter(pk=coach_two.pk).update(may_sign_off=True)
    coach_two.refresh_from_db()
    reach(coach_two, athlete, "pullover-3a")
    with pytest.raises(SignOffRefusedError, match="Nobody passes themselves"):
        decide(coach, athlete, "pullover-3a", "entrance", clearance="alone")
    decide(coach_two, athlete, "pullover-3a", "entrance")
    decide(coach, athlete, "pullover-3a", "entrance", decision="revoked", reason="Not today.")
    assert standing_now(athlete, "pullover-3a").base == "closed"


def test_not_yet_sends_the_athlete_back_to_work_until_there_is_new_evidence(
    coach: Membership, athlete: Athlete
) -> None:
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a", days_ago=0)
    row = decide(coach, athlete, "pullover-3a", decision="not_yet", reason="shoulders still close")
    assert Remark.objects.get(about=row.id).text == "shoulders still close"
    assert (standing_now(athlete, "pullover-3a").state, row.clearance) == ("working", "")
    log(coach, athlete, "pullover-3a", 5.0)
    assert standing_now(athlete, "pullover-3a").state == "ready"


def test_a_caution_stops_every_pass_before_it_is_lifted(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    caution = enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"inversion"}), from_at=timezone.now(), until_at=None, reason="dizzy"
    )
    assert "caution" in _refused(coach, athlete, "pullover-3a", "entrance")["decision"]
    lift_caution(by=coach, caution=caution)
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert standing_now(athlete, "pullover-3a").base == "working"


def test_revoking_a_finish_flags_what_rests_on_it_and_lowers_its_clearance(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-4", "entrance", clearance="alone")
    assert standing_now(athlete, "pullover-4").clearance == "alone"
    decide(coach, athlete, "pullover-3a", decision="revoked", reason="went limp upside down")
    below, above = standing_now(athlete, "pullover-3a"), standing_now(athlete, "pullover-4")
    assert below.base == "working"
    assert (above.state, above.flags, above.clearance) == ("working", ("prerequisite_fell",), "spotted")


def test_revoking_an_entrance_closes_the_step_until_it_is_cleared_again(coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-3a", "entrance", decision="revoked", reason="not calm")
    assert (standing_now(athlete, "pullover-3a").state, standing_now(athlete, "pullover-3a").awaits) == (
        "closed",
        "entrance",
    )
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert standing_now(athlete, "pullover-3a").state == "working"
    assert Opening.objects.filter(athlete=athlete, step__code="pullover-3a").count() == 2


def test_there_is_nothing_to_revoke_before_the_gate(coach: Membership, athlete: Athlete) -> None:
    for gate in ("entrance", "finish"):
        refused = _refused(coach, athlete, "pullover-3a", gate, decision="revoked", reason="no")
        assert "nothing to revoke" in refused["decision"]


def test_a_voided_attempt_flags_the_sign_off_that_rests_on_it(coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    first, *_ = meet(coach, athlete, "pullover-3a")
    decide(coach, athlete, "pullover-3a", clearance="alone")
    void_attempt(by=coach, attempt=first, reason="mis-tapped athlete")
    now = standing_now(athlete, "pullover-3a")
    assert (now.state, now.clearance) == ("passed", "spotted")
    assert now.flags == ("evidence_voided", "not_met_in_hindsight")


def test_an_inverted_step_not_shown_for_its_interval_is_spotted_again(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3a")
    assert standing_now(athlete, "pullover-3a").clearance == "present"
    days = _recheck_days(athlete, "pullover-3a")
    with time_machine.travel(timezone.now() + timedelta(days=days + 1)):
        now = standing_now(athlete, "pullover-3a")
    assert (now.state, now.clearance) == ("recheck", "spotted")


def test_decisions_stand_in_the_audit_chain_with_their_evidence(coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    row = decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    entry = AuditEntry.objects.get(about=row.id)
    assert (entry.act, entry.actor) == ("signed_off", coach)
    assert all(attempt in entry.content for attempt in row.evidence)


def test_the_same_decision_sent_twice_is_one(coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    page = page_of(athlete.gym, "pullover-3a")
    said = Decision(SignOff.Gate.FINISH, SignOff.Decision.NOT_YET, "", "calmer")
    first = sign_off(by=coach, athlete=athlete, step=page, decision=said)
    assert sign_off(by=coach, athlete=athlete, step=page, decision=said) == first
    assert SignOff.objects.filter(athlete=athlete, gate="finish", step__code="pullover-3a").count() == 1


def test_an_id_that_stands_for_another_decision_is_refused(coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    stored = SignOff.objects.get(athlete=athlete, step__code="pullover-3a")
    other = Decision(SignOff.Gate.ENTRANCE, SignOff.Decision.PASSED, "alone", "", stored.id)
    with pytest.raises(SignOffRefusedError, match="Another decision has this id"):
        sign_off(by=coach, athlete=minor, step=page_of(minor.gym, "pullover-3a"), decision=other)
