"""The gym's list of bars, and what a check of one of them opens."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone

from athletes.models import AuditEntry
from gymtrack.lib.ids import new_id
from skills.core.bar_entry import BarEntry
from skills.models import Bar, BarCheck
from skills.queries.bars import bars_of, retired_bars_of, standing_checks
from skills.services.attempts import AttemptRefusedError, log_attempt
from skills.services.bars import BarRefusedError, BarRetiredError, add_bar, change_bar, retire_bar
from skills.services.sessions import NoSuchHoleError, check_bar
from tests.factories.bars import check_hole, make_high_bar, make_low_bar
from tests.factories.skills import check_bar_on, entry_of, library, reach

LOW = BarEntry("low bar", "tied", 280, first_hole_mm=400, hole_pitch_tenths_mm=508, holes=30, mat_mm=20)


@pytest.fixture(autouse=True)
def _in_the_afternoon():
    """Far from midnight, which parts one day's checks from the next one's."""
    with time_machine.travel(datetime(2026, 6, 1, 15, 0, tzinfo=UTC)):
        yield


def test_a_bar_is_added_changed_and_taken_out_of_use(owner):
    bar = add_bar(by=owner, entry=LOW)
    change_bar(by=owner, bar=bar, entry=replace(LOW, holes=24, ceiling_mm=2400))
    assert [(each.holes, each.ceiling_mm) for each in bars_of(owner.gym)] == [(24, 2400)]
    for _ in range(2):
        retire_bar(by=owner, bar=bar)
    assert (bars_of(owner.gym), retired_bars_of(owner.gym)) == ([], [bar])
    assert [*AuditEntry.objects.order_by("position").values_list("act", flat=True)] == [
        "bar_added",
        "bar_changed",
        "bar_retired",
    ]
    assert not AuditEntry.objects.filter(content__contains="low bar").exists()


def test_the_same_form_twice_is_one_bar(owner):
    key = new_id()
    assert add_bar(by=owner, entry=LOW, bar_id=key) == add_bar(by=owner, entry=LOW, bar_id=key)
    assert Bar.objects.count() == 1


def test_two_bars_in_use_have_two_names(owner, other_coach):
    first = add_bar(by=owner, entry=LOW)
    with pytest.raises(BarRefusedError, match="has this name"):
        add_bar(by=owner, entry=replace(LOW, name="Low Bar"))
    second = add_bar(by=owner, entry=replace(LOW, name="other"))
    with pytest.raises(BarRefusedError, match="has this name"):
        change_bar(by=owner, bar=second, entry=LOW)
    add_bar(by=other_coach, entry=LOW)
    retire_bar(by=owner, bar=first)
    change_bar(by=owner, bar=second, entry=LOW)


def test_a_mistake_is_told_in_the_units_of_the_gym(owner):
    thick = replace(LOW, diameter_tenths_mm=700)
    with pytest.raises(BarRefusedError, match=r"between 16\.0 mm and 60\.0 mm thick"):
        add_bar(by=owner, entry=thick)
    owner.gym.units = "imperial"
    with pytest.raises(BarRefusedError, match=r"between 0\.63 in and 2\.36 in thick"):
        add_bar(by=owner, entry=thick)


def test_what_is_out_of_use_is_not_changed(owner):
    bar = add_bar(by=owner, entry=LOW)
    retire_bar(by=owner, bar=bar)
    with pytest.raises(BarRetiredError):
        change_bar(by=owner, bar=bar, entry=LOW)


# ---- Checks --------------------------------------------------------------------------------------------------------


def test_a_check_names_a_bar_of_the_list_and_its_hole(coach):
    bar = make_low_bar(coach.gym)
    check = check_bar(by=coach, session=None, bar="", of=bar, hole=8)
    assert (check.bar, check.of, check.hole) == (bar.name, bar, 8)
    assert f'"hole":8,"of":"{bar.id}"' in AuditEntry.objects.get().content


@pytest.mark.parametrize("hole", [None, 0, 31])
def test_a_hole_that_is_not_there_is_refused(coach, hole):
    with pytest.raises(NoSuchHoleError, match="1 to 30"):
        check_bar(by=coach, session=None, bar="", of=make_low_bar(coach.gym), hole=hole)
    assert not BarCheck.objects.exists()


def test_a_bar_at_one_height_has_no_hole_and_one_out_of_use_no_check(coach):
    bar = make_high_bar(coach.gym)
    with pytest.raises(NoSuchHoleError, match="no hole"):
        check_bar(by=coach, session=None, bar="", of=bar, hole=1)
    bar.retired_at = timezone.now()
    with pytest.raises(NoSuchHoleError, match="out of use"):
        check_bar(by=coach, session=None, bar="", of=bar)


def test_of_each_bar_the_last_check_stands(coach):
    one, other, now = make_low_bar(coach.gym), make_low_bar(coach.gym, "other"), timezone.now()
    ages = [(one, 3, 4), (one, 8, 2), (other, 5, 3)]
    old, new, elsewhere = (check_hole(coach, bar, hole, now - timedelta(hours=age)) for bar, hole, age in ages)
    named = check_bar_on(coach, bar="bar in the yard")
    assert standing_checks([named, new, elsewhere, old]) == [named, new, elsewhere]


@pytest.fixture
def climber(coach, owner, athlete):
    """Somebody whose next step is on the low bar."""
    library(coach.gym, owner)
    reach(coach, athlete, "pullover-6")
    return athlete


def _try(coach, climber, check):
    """Log a try just now, at the bar as that check found it."""
    entry = replace(entry_of(climber, "pullover-6", reps=1, at=timezone.now()), bar_check_id=check and check.id)
    return log_attempt(by=coach, entry=entry)


def _refusal(coach, climber, check):
    with pytest.raises(AttemptRefusedError) as refused:
        _try(coach, climber, check)
    return str(refused.value)


def test_a_check_of_another_hole_than_the_last_one_opens_nothing(coach, climber):
    bar, now = make_low_bar(coach.gym), timezone.now()
    before = check_hole(coach, bar, 6, now - timedelta(minutes=9))
    after = check_hole(coach, bar, 8, now - timedelta(minutes=5))
    assert "set anew meanwhile, into hole 8" in _refusal(coach, climber, before)
    assert _try(coach, climber, after).created


def test_a_bar_checked_again_in_its_hole_stands_as_before(coach, climber):
    bar, now = make_low_bar(coach.gym), timezone.now()
    before = check_hole(coach, bar, 6, now - timedelta(minutes=9))
    check_hole(coach, bar, 6, now - timedelta(minutes=5))
    assert _try(coach, climber, before).created


def test_a_bar_that_is_set_back_is_checked_a_third_time(coach, climber):
    bar, now = make_low_bar(coach.gym), timezone.now()
    first = check_hole(coach, bar, 6, now - timedelta(minutes=9))
    check_hole(coach, bar, 8, now - timedelta(minutes=5))
    assert "hole 8" in _refusal(coach, climber, first)
    check_hole(coach, bar, 6, now - timedelta(minutes=2))
    assert _try(coach, climber, first).created


def test_another_bar_set_anew_shuts_nothing_here(coach, climber):
    one, other = make_low_bar(coach.gym), make_low_bar(coach.gym, "other")
    now = timezone.now()
    before = check_hole(coach, one, 6, now - timedelta(minutes=9))
    check_hole(coach, other, 8, now - timedelta(minutes=5))
    assert _try(coach, climber, before).created


def test_a_check_of_yesterday_or_of_another_gym_opens_nothing(coach, climber, other_coach):
    check_bar_on(coach)
    yesterday = check_hole(coach, make_low_bar(coach.gym), 6, timezone.now() - timedelta(days=1))
    elsewhere = check_hole(other_coach, make_low_bar(other_coach.gym), 6)
    for check in (yesterday, elsewhere):
        assert "Check the low bar first" in _refusal(coach, climber, check)


def test_a_bar_that_is_only_named_opens_the_step_as_ever(coach, climber):
    check = check_bar_on(coach, bar="bar in the yard")
    assert _try(coach, climber, check).created
    assert _try(coach, climber, None).created
