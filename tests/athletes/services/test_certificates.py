"""Entering certificates, and the right to sign off that ends with them, at midnight in the gym's zone."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine

from athletes.access.certificates import why_not_signing
from athletes.access.rules import COACH, OWNER, AccessRule
from athletes.models import AuditEntry, Certificate, Membership
from athletes.queries.certificates import certificates_to_renew
from athletes.services.certificates import EndsBeforeItBegins, NotOnStaff, UnknownKind, enter_certificate
from athletes.services.staff import end_membership
from gymtrack.lib.ids import new_id
from tests.factories.athletes import make_certificate

LAST = date(2026, 6, 30)
# Midnight after it in Berlin, where the clocks are two hours ahead in summer (IANA time zone database).
MIDNIGHT = datetime(2026, 6, 30, 22, tzinfo=UTC)
TICK = timedelta(microseconds=1)
SIGNERS = AccessRule((OWNER, COACH), "may_sign_off")


def test_an_entry_is_kept_and_stands_in_the_audit_chain(owner: Membership, coach: Membership) -> None:
    row = enter_certificate(by=owner, membership=coach, kind="first_aid", valid_from=date(2026, 1, 1), valid_until=LAST)
    stored = Certificate.objects.get()
    assert (stored, stored.valid_until, stored.entered_by) == (row, LAST, owner)
    entry = AuditEntry.objects.get(about=row.id)
    assert (entry.act, entry.content) == (
        "certificate_entered",
        f'{{"kind":"first_aid","membership":"{coach.id}","valid_from":"2026-01-01","valid_until":"2026-06-30"}}',
    )


def test_the_same_form_sent_twice_is_one_entry(owner: Membership, coach: Membership) -> None:
    said = {"kind": "coaching", "valid_from": date(2026, 1, 1), "valid_until": None, "certificate_id": new_id()}
    first, second = (enter_certificate(by=owner, membership=coach, **said) for _ in range(2))  # type: ignore[arg-type]
    assert first == second
    assert AuditEntry.objects.count() == 1


def test_a_kind_that_there_is_not_and_an_end_before_the_beginning_are_refused(
    owner: Membership, coach: Membership
) -> None:
    with pytest.raises(UnknownKind):
        enter_certificate(by=owner, membership=coach, kind="judo", valid_from=LAST, valid_until=None)
    with pytest.raises(EndsBeforeItBegins):
        enter_certificate(
            by=owner, membership=coach, kind="coaching", valid_from=LAST, valid_until=LAST - timedelta(days=1)
        )
    assert not Certificate.objects.exists()


def test_certificates_are_those_of_the_gyms_own_staff(
    owner: Membership, coach: Membership, other_coach: Membership, athlete_member: Membership
) -> None:
    end_membership(by=owner, membership=coach)
    for nobody in (coach, other_coach, athlete_member):
        with pytest.raises(NotOnStaff):
            enter_certificate(by=owner, membership=nobody, kind="coaching", valid_from=LAST, valid_until=None)


def test_who_never_had_one_entered_signs_on_the_right_alone(coach: Membership, coach_two: Membership) -> None:
    assert why_not_signing(coach, MIDNIGHT) == ""
    assert why_not_signing(coach_two, MIDNIGHT) == "You do not hold the right to sign off in this gym."


@pytest.mark.parametrize("kind", Certificate.Kind.values)
def test_the_right_to_sign_off_ends_at_midnight_after_the_last_day(
    owner: Membership, coach: Membership, kind: str
) -> None:
    make_certificate(coach, by=owner, kind=kind, valid_until=LAST)
    words = Certificate.Kind(kind).label
    ended = (
        f"A certificate of yours has ended: {words}, last day 30 June 2026."
        " The right to sign off ended with it, until the owner enters a new one."
    )
    told = [why_not_signing(coach, MIDNIGHT + shift) for shift in (-TICK, 0 * TICK, TICK)]
    assert told == ["", ended, ended]


def test_views_that_ask_for_the_right_shut_at_the_same_moment(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    for moment, admits in ((MIDNIGHT - TICK, True), (MIDNIGHT, False)):
        with time_machine.travel(moment, tick=False):
            assert SIGNERS.admits(coach) is admits
            assert bool(SIGNERS.why_not(coach)) is not admits
            assert AccessRule((COACH,), "may_log").admits(coach)


def test_a_newer_entry_gives_the_right_back(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    make_certificate(coach, by=owner, valid_from=LAST + timedelta(days=2), valid_until=None)
    told = [bool(why_not_signing(coach, MIDNIGHT + timedelta(days=days))) for days in (-1, 0, 1)]
    assert told == [False, True, False]


def test_an_owner_hears_a_month_before(owner: Membership, coach: Membership, other_coach: Membership) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    make_certificate(owner, by=owner, kind="first_aid")
    make_certificate(other_coach, by=other_coach, valid_until=LAST)
    told = [
        [(member, line.lapsed) for member, line in certificates_to_renew(owner.gym, LAST + timedelta(days=days))]
        for days in (-31, -30, 0, 1)
    ]
    assert told == [[], [(coach, False)], [(coach, False)], [(coach, True)]]
