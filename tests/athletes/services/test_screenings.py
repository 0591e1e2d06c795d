"""Noting a screening: two days, and nothing else."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, Membership, Screening
from athletes.queries.screenings import screening_notice, screening_of
from athletes.services.screenings import DoneInFuture, EndsBeforeItBegins, enter_screening
from gymtrack.lib.ids import new_id


def _today() -> date:
    return timezone.now().date()


def test_the_entry_made_last_holds(coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    assert (screening_of(athlete), screening_notice(athlete)) == (None, "")
    enter_screening(by=coach, athlete=athlete, done_on=date(2026, 1, 5), expires_on=date(2026, 2, 5))
    assert screening_notice(athlete) == "Readiness screening done on 5 Jan 2026, expired on 5 Feb 2026"
    assert screening_notice(minor) == "No readiness screening is noted"  # in a gym that notes them
    enter_screening(by=coach, athlete=athlete, done_on=date(2026, 1, 5), expires_on=_today() + timedelta(days=90))
    assert screening_notice(athlete) == ""
    assert AuditEntry.objects.filter(act="screening_entered").count() == 2


def test_a_day_that_has_not_come_and_an_end_before_it_are_refused(coach: Membership, athlete: Athlete) -> None:
    with pytest.raises(DoneInFuture):
        enter_screening(by=coach, athlete=athlete, done_on=_today() + timedelta(days=2), expires_on=None)
    with pytest.raises(EndsBeforeItBegins):
        enter_screening(by=coach, athlete=athlete, done_on=date(2026, 1, 5), expires_on=date(2026, 1, 4))
    assert not Screening.objects.exists()


def test_the_same_form_twice_is_one_entry(coach: Membership, athlete: Athlete) -> None:
    form_id = new_id()
    for _ in range(2):
        enter_screening(by=coach, athlete=athlete, done_on=date(2026, 1, 5), expires_on=None, screening_id=form_id)
    assert Screening.objects.count() == 1
