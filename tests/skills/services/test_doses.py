"""A coach's own dose: kept for the week with the reason, and refused where it must not be."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, Remark
from athletes.services.audit import first_broken_link
from gymtrack.lib.ids import new_id
from skills.core import dose_findings as why
from skills.core.portions import Portion
from skills.core.weeks import monday_of
from skills.models import DoseChange
from skills.queries.books import book_of
from skills.queries.doses import dose_week
from skills.services.cautions import enter_caution, lift_caution
from skills.services.doses import DoseOrder, DoseRefusedError, change_dose
from tests.factories.athletes import make_athlete, make_consent
from tests.factories.skills import decide, library, log, meet, page_of, pass_step, reach, start_class, step_of

HOLDS = Portion(sets=2, reps=2, hold_seconds=10, rest_seconds=90, days=2)


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def week_of(athlete):
    found = Athlete.objects.select_related("gym", "person").get(pk=athlete.pk)
    return dose_week(book_of(found.gym), found, timezone.now())


def order(athlete, portion=HOLDS, **more):
    monday = monday_of(timezone.localdate(timezone=athlete.gym.zone))
    return DoseOrder(**{"week_on": monday, "portion": portion, "reason": "Hips are tight.", **more})


def change(by, athlete, code="pullover-1", portion=HOLDS, **more):
    return change_dose(by=by, athlete=athlete, step=page_of(athlete.gym, code), order=order(athlete, portion, **more))


def sentences(by, athlete, code="pullover-1", portion=HOLDS, **more):
    with pytest.raises(DoseRefusedError) as caught:
        change(by, athlete, code, portion, **more)
    assert not DoseChange.objects.exists()
    return [mistake.sentence for mistake in caught.value.mistakes]


def dose_of(athlete, code):
    return next((dose for dose in week_of(athlete).plan.doses if dose.code == code), None)


# ---- Kept for the week ---------------------------------------------------------------------------------------------


def test_a_changed_dose_stands_in_place_of_the_worked_out_one_with_who_and_why(coach, athlete):
    worked_out = dose_of(athlete, "pullover-1")
    assert not worked_out.changed
    row = change(coach, athlete)
    found = week_of(athlete)
    dose = next(dose for dose in found.plan.doses if dose.code == "pullover-1")
    assert (dose.portion, dose.changed) == (HOLDS, True)
    assert (found.changes["pullover-1"].by, found.changes["pullover-1"].reason) == ("Cleo Adeyemi", "Hips are tight.")
    assert Remark.objects.get(about=row.id).subject == athlete.person
    last = AuditEntry.objects.latest("position")
    assert (last.act, last.about) == ("dose_changed", row.id)
    assert "tight" not in last.content
    assert first_broken_link(coach.gym) is None


def test_the_latest_change_of_the_week_stands_until_it_is_taken_back(coach, coach_two, athlete):
    worked_out = dose_of(athlete, "pullover-1")
    change(coach, athlete)
    change(coach_two, athlete, portion=replace(HOLDS, sets=1))
    assert dose_of(athlete, "pullover-1").portion.sets == 1
    change(coach, athlete, portion=None, taken_back=True)
    assert dose_of(athlete, "pullover-1") == worked_out
    assert DoseChange.objects.count() == 3


def test_not_this_week_leaves_the_step_out(coach, athlete):
    change(coach, athlete, portion=None)
    assert dose_of(athlete, "pullover-1") is None
    assert why.NotThisWeek() in {left.why for left in week_of(athlete).plan.left_out}


def test_the_same_form_twice_is_one_change_and_its_id_serves_nothing_else(coach, athlete, minor):
    same = order(athlete)
    step = page_of(athlete.gym, "pullover-1")
    first = change_dose(by=coach, athlete=athlete, step=step, order=same)
    assert change_dose(by=coach, athlete=athlete, step=step, order=same) == first
    with pytest.raises(DoseRefusedError, match="open it again"):
        change_dose(by=coach, athlete=minor, step=step, order=same)
    assert DoseChange.objects.count() == 1


@pytest.mark.parametrize(
    "sunday", [datetime(2026, 3, 29, 12, tzinfo=UTC), datetime(2026, 10, 25, 12, tzinfo=UTC)], ids=["spring", "autumn"]
)
def test_it_stands_until_midnight_of_sunday_in_the_gyms_zone(coach, athlete, sunday):
    midnight = datetime.combine(sunday.date() + timedelta(days=1), datetime.min.time(), athlete.gym.zone)
    with time_machine.travel(sunday, tick=False):
        change(coach, athlete)
        stale = order(athlete)
    with time_machine.travel(midnight - timedelta(seconds=1), tick=False):
        assert dose_of(athlete, "pullover-1").changed
    with time_machine.travel(midnight, tick=False):
        assert not dose_of(athlete, "pullover-1").changed
        with pytest.raises(DoseRefusedError, match="A new week has begun"):
            change_dose(by=coach, athlete=athlete, step=page_of(athlete.gym, "pullover-1"), order=stale)


# ---- Refused ------------------------------------------------------------


def test_without_a_reason_or_with_wrong_figures_nothing_is_kept_and_all_of_it_is_said(coach, athlete):
    wrong = Portion(sets=0, reps=0, hold_seconds=7, rest_seconds=900, days=7)
    assert sentences(coach, athlete, portion=wrong, reason=" ") == [
        "Say why, in a few words.",
        "Sets are a whole number from 1 to 20.",
        "Holds in a set are a whole number from 1 to 50.",
        "Holds are practised for 5, 10 or 20 s.",
        "A rest lasts from 0 to 600 seconds.",
        "Practise on one to 3 days of a week.",
    ]


def test_a_step_that_is_not_open_gets_none(coach, athlete):
    (sentence,) = sentences(coach, athlete, "pullover-2")
    assert sentence == "This step is not open to the athlete: there is nothing to practise yet."


def test_under_a_caution_a_step_gets_none_and_less_is_still_taken(coach, athlete):
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason=""
    )
    (sentence,) = sentences(coach, athlete)
    assert sentence == "A caution forbids this step for now: it gets no dose until the caution is lifted."
    change(coach, athlete, portion=None)


def test_a_caution_silences_a_change_and_lifting_it_lets_it_speak_again(coach, athlete):
    change(coach, athlete)
    caution = enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason=""
    )
    assert dose_of(athlete, "pullover-1") is None
    lift_caution(by=coach, caution=caution)
    assert dose_of(athlete, "pullover-1").portion == HOLDS


def test_without_consent_to_going_upside_down_an_inverted_step_gets_none(gym, coach, minor):
    make_consent(minor, by=coach, kind="inversion")
    make_consent(minor, by=coach, kind="spotting")
    reach(coach, minor, "pullover-3a")
    gym.asks_consent = True
    gym.save()
    make_consent(minor, by=coach, kind="inversion", given=False)
    (sentence,) = sentences(coach, minor, "pullover-3a", replace(HOLDS, hold_seconds=5, sets=1, reps=1))
    assert sentence == "A consent that this step asks for is lacking: it gets no dose until it is given."


def test_an_inverted_step_is_not_sent_home_without_the_clearance_alone(coach, athlete):
    reach(coach, athlete, "pullover-3a")
    start_class(coach, athlete)
    three = replace(HOLDS, days=3)
    (sentence,) = sentences(coach, athlete, "pullover-3a", three)
    assert sentence.startswith("This step is practised in class only until the clearance is alone, and there were")
    assert sentence.endswith("at most one day, not at home.")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="alone")
    change(coach, athlete, "pullover-3a", three)


def test_a_minor_has_no_hold_beyond_the_best_clean_one(coach, minor):
    log(coach, minor, "pullover-1", 9.9, days_ago=1)
    (sentence,) = sentences(coach, minor, portion=replace(HOLDS, sets=1))
    assert sentence == "No holds to failure for minors: the best clean hold of late is shorter (9.9 s)."
    log(coach, minor, "pullover-1", 10.0)
    change(coach, minor, portion=replace(HOLDS, sets=1))


def test_a_minors_week_keeps_to_its_room_over_all_changed_steps(coach, minor):
    log(coach, minor, "pullover-1", 20.0, days_ago=1)
    (sentence,) = sentences(coach, minor, portion=replace(HOLDS, sets=7, reps=1))
    assert sentence == "That is more than a minor’s week has left for it: 120 s of hang time and 18 pulls."
    change(coach, minor, portion=replace(HOLDS, sets=5, reps=1))
    with pytest.raises(DoseRefusedError, match="20 s of hang time"):
        change(coach, minor, "pull-up-1", replace(HOLDS, hold_seconds=5, sets=3, reps=1))


def test_an_adults_coach_may_go_beyond_it_and_a_passed_step_may_be_practised_again(coach, athlete):
    pass_step(coach, athlete, "pullover-1")
    change(coach, athlete, portion=replace(HOLDS, sets=20, hold_seconds=20))
    assert dose_of(athlete, "pullover-1").volume.hang_seconds == 1600


def test_who_has_left_gets_none_and_another_gyms_coach_gives_none(coach, other_coach, athlete):
    with pytest.raises(DoseRefusedError, match="no such athlete"):
        change(other_coach, athlete)
    meet(coach, athlete, "pullover-1")
    athlete.left_on = timezone.localdate(timezone=athlete.gym.zone)
    athlete.save()
    assert sentences(coach, athlete, id=new_id()) == ["This athlete has left the gym."]


def test_nothing_is_taken_back_where_nothing_was_changed(coach, athlete):
    assert sentences(coach, athlete, portion=None, taken_back=True) == ["There is no change to take back this week."]


# ---- What the database itself refuses -------------------------------------------------------------------------------


def _row(gym, athlete, by):
    step = step_of(gym, "pullover-1")
    return DoseChange(
        gym=gym, athlete=athlete, step=step, week_on=monday_of(timezone.localdate()), changed_by=by,
        happened_at=timezone.now(),
    )  # fmt: skip


def test_a_change_cannot_be_for_another_gyms_athlete_nor_by_its_coach(gym, other_gym, coach, other_coach, athlete):
    elsewhere = make_athlete(other_gym, "Otto Kim")
    for row in (_row(gym, elsewhere, coach), _row(gym, athlete, other_coach)):
        with pytest.raises(IntegrityError, match=r"another gym|violates foreign key"), transaction.atomic():
            row.save()


def test_a_change_is_never_edited_and_never_deleted(coach, athlete):
    change(coach, athlete)
    rows = DoseChange.objects.all()
    for act in (lambda: rows.update(sets=9), lambda: rows._raw_delete(rows.db)):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            act()
    assert rows.get().sets == 2


@pytest.mark.parametrize("broken", [{"sets": 3}, {"sets": 3, "reps": 1, "rest_seconds": 60, "days": 2}])
def test_a_change_is_whole_or_says_none_of_it(gym, coach, athlete, broken):
    row = _row(gym, athlete, coach)
    row.taken_back = len(broken) > 1
    for name, value in broken.items():
        setattr(row, name, value)
    with pytest.raises(IntegrityError, match="dose_change_whole_or_none"), transaction.atomic():
        row.save()
