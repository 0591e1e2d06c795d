"""This week's practice, told as a coach would read it. The rungs of 5, 10 and 20 s and two or three days a week are
common practice; where the other figures come from stands beside them in `skills.core.dose_limits`.
"""

from dataclasses import replace

import pytest

from skills.core import dose_findings as why
from skills.core.dose import plan_week
from skills.core.dose_limits import (
    MOST_OF_ADULTS,
    MOST_OF_MINORS,
    START_OF_ADULTS,
    START_OF_MINORS,
    Volume,
    most_of,
    room_of,
)
from skills.core.dose_portions import Change, Person, StepCase, shrunk, wanted
from skills.core.portions import Portion, mistakes_in_portion

ADULT, MINOR = Person(minor=False), Person(minor=True)
HOLDS = Portion(sets=3, reps=1, hold_seconds=5, rest_seconds=60, days=2)
PULLS = Portion(sets=3, reps=4, hold_seconds=None, rest_seconds=120, days=2)
FLOOR = frozenset[str]()
HANG, PULL = frozenset({"hanging"}), frozenset({"hanging", "pulling"})


def case(code="one", **more):
    return StepCase(code=code, **{"skill": "bar", "standing": "open", "own": HOLDS, "loads": FLOOR, **more})


def plan(*cases, person=ADULT, next_code="one", practised=("bar",)):
    return plan_week(cases, person, next_code=next_code, practised=practised)


# ---- The rung of a hold ------------------------------------------------------------------------------------------
# Who, the best clean hold of late, what one try has to reach; the rung that is practised, and whether with help.
RUNGS = [
    (ADULT, 0, 50, 5, True),
    (ADULT, 49, 50, 5, True),
    (ADULT, 50, 50, 5, False),  # an adult may do again what was clean once
    (ADULT, 124, 200, 5, False),  # 80 % of 12.4 s is under 10 s
    (ADULT, 125, 200, 10, False),
    (ADULT, 249, 200, 10, False),
    (ADULT, 250, 200, 20, False),
    (ADULT, 600, 200, 20, False),  # the ladder ends
    (ADULT, 250, 50, 5, False),  # the step asks for no more
    (ADULT, 250, 60, 10, False),  # 6 s are reached by the rung of 10 s
    (MINOR, 50, 50, 5, True),  # 75 % of 5.0 s is under 5 s: no holds to failure
    (MINOR, 66, 50, 5, True),
    (MINOR, 67, 50, 5, False),
    (MINOR, 133, 200, 5, False),
    (MINOR, 134, 200, 10, False),
    (MINOR, 266, 200, 10, False),
    (MINOR, 267, 200, 20, False),
]


@pytest.mark.parametrize(("person", "best_tenths", "target_tenths", "rung_s", "helped"), RUNGS)
def test_the_rung_follows_the_best_clean_hold_and_what_the_step_asks(
    person, best_tenths, target_tenths, rung_s, helped
):
    found = wanted(case(best_tenths=best_tenths, target_tenths=target_tenths), person)
    assert found.portion.hold_seconds == rung_s
    assert isinstance(found.why[0], why.WithHelp) is helped


@pytest.mark.parametrize(
    ("own", "best_tenths", "sets", "rest_s"),
    [
        (HOLDS, 60, 3, 60),  # the step's own rung: as it says
        (replace(HOLDS, sets=4, reps=1), 130, 2, 120),  # twice as long a hold: half the sets, and a longer rest
        (replace(HOLDS, reps=3), 130, 1, 120),  # 45 s a day: one set of three holds of 10 s
        (replace(HOLDS, rest_seconds=180), 130, 1, 180),  # the step's rest is long enough
        (replace(HOLDS, hold_seconds=20), 60, 3, 60),  # a shorter rung: never more sets
    ],
)
def test_on_a_longer_rung_there_are_fewer_sets_and_longer_rests(own, best_tenths, sets, rest_s):
    portion = wanted(case(own=own, best_tenths=best_tenths, target_tenths=200), ADULT).portion
    assert (portion.sets, portion.reps, portion.rest_seconds) == (sets, own.reps, rest_s)


@pytest.mark.parametrize(
    ("person", "best_reps", "target_reps", "reps"),
    [
        (ADULT, 0, 5, 2),  # none of late: half of the step's four
        (ADULT, 2, 5, 2),
        (ADULT, 4, 1, 4),
        (ADULT, 9, 1, 4),  # no more than the step and its criterion ask
        (ADULT, 9, 6, 6),
        (MINOR, 1, 5, 1),
        (MINOR, 4, 4, 3),  # one fewer: no set to failure
        (MINOR, 9, 4, 4),
    ],
)
def test_the_reps_of_a_set_follow_the_best_clean_set(person, best_reps, target_reps, reps):
    assert wanted(case(own=PULLS, best_reps=best_reps, target_reps=target_reps), person).portion.reps == reps


def test_no_step_is_practised_on_more_than_three_days():
    assert wanted(case(own=replace(HOLDS, days=7)), ADULT).portion.days == 3


def test_after_three_weeks_away_the_sets_are_halved():
    (dose,) = plan(case(own=replace(HOLDS, sets=5)), person=replace(ADULT, days_away=24)).doses
    assert dose.portion.sets == 3
    assert why.AfterAway(24) in dose.why


# ---- Where ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asks_clearance", "low_bar", "clearance", "place"),
    [
        (False, False, "", "anywhere"),
        (True, False, "", "class"),
        (True, False, "spotted", "class"),
        (True, False, "present", "class"),
        (True, False, "alone", "anywhere"),
        (False, True, "", "class"),
        (True, True, "alone", "anywhere"),
    ],
)
def test_what_asks_for_a_clearance_stays_in_class_until_it_is_alone(asks_clearance, low_bar, clearance, place):
    step = case(asks_clearance=asks_clearance, low_bar=low_bar, clearance=clearance)
    assert plan(step).doses[0].place == place


def test_what_stays_in_class_is_on_no_more_days_than_there_are_classes():
    person = replace(ADULT, class_days=1)
    inside, outside = plan(case(asks_clearance=True), case("two"), person=person).doses
    assert (inside.portion.days, outside.portion.days) == (1, 2)
    assert why.ClassDays(1) in inside.why


# ---- Which steps ------------------------------------------------------------------------------------------------


def codes(week):
    return [dose.code for dose in week.doses]


def test_the_next_step_comes_first_then_what_is_practised_then_the_order_of_the_gym():
    cases = [
        case("rings-1", skill="rings"),
        case("bar-1"),
        case("bar-2"),
        case("wall-1", skill="wall"),
        case("wall-2", skill="wall"),
    ]
    assert codes(plan(*cases, next_code="bar-2", practised=("bar", "wall"))) == ["bar-2", "bar-1", "wall-1"]
    assert codes(plan(*cases, next_code="bar-1", practised=("bar",))) == ["bar-1", "bar-2"]
    assert codes(plan(*cases, next_code="bar-1", practised=())) == ["bar-1", "rings-1"]
    assert codes(plan(*cases, next_code=None, practised=("wall",))) == ["wall-1", "wall-2"]


def test_a_third_step_is_added_only_where_its_skill_is_practised():
    three = [case(code) for code in ("one", "two", "three", "four")]
    assert codes(plan(*three)) == ["one", "two", "three"]
    assert codes(plan(*three, practised=())) == ["one", "two"]


def test_side_drills_and_passed_steps_are_nobodys_choice_but_a_coachs():
    assert codes(plan(case("drill", side_drill=True), case("done", standing="passed"), case())) == ["one"]
    put_in = Change(HOLDS)
    both = plan(case("drill", side_drill=True, change=put_in), case("done", standing="passed", change=put_in), case())
    assert codes(both) == ["one", "drill", "done"]


@pytest.mark.parametrize(("standing", "left_out"), [("paused", why.UnderCaution()), ("stopped", why.LacksConsent())])
def test_a_caution_or_a_lacking_consent_leaves_a_step_out_whatever_a_coach_put_there(standing, left_out):
    for change in (None, Change(HOLDS)):
        week = plan(case(standing=standing, change=change), case("two"))
        assert codes(week) == ["two"]
        assert [(out.code, out.why) for out in week.left_out] == [("one", left_out)]


def test_only_what_would_be_practised_is_told_as_left_out():
    paused = [case(code, standing="paused") for code in ("one", "two", "three", "four")]
    week = plan(*paused, case("wall-1", skill="wall"), practised=("wall",))
    assert codes(week) == ["wall-1"]
    assert [out.code for out in week.left_out] == ["one"]


def test_not_this_week_leaves_a_step_out_and_puts_none_in_its_place():
    week = plan(case(change=Change(None)), case("two"), case("three"), practised=())
    assert codes(week) == ["two"]
    assert [(out.code, out.why) for out in week.left_out] == [("one", why.NotThisWeek())]


# ---- The caps of a person ----------------------------------------------------------------------------------------


def test_the_caps_are_these():
    caps = (MOST_OF_ADULTS, MOST_OF_MINORS, START_OF_ADULTS, START_OF_MINORS)
    assert [(cap.hang_seconds, cap.pulls) for cap in caps] == [(450, 72), (270, 36), (180, 36), (120, 18)]


@pytest.mark.parametrize(
    ("weeks", "minor", "away", "room"),
    [
        ((), False, False, Volume(180, 36)),
        ((Volume(100, 10), Volume(0, 0)), False, False, Volume(180, 36)),
        ((Volume(300, 50), Volume(200, 60)), False, False, Volume(330, 66)),  # a tenth more than the fullest
        ((Volume(900, 500),), False, False, Volume(450, 72)),
        ((Volume(900, 500),), False, True, Volume(180, 36)),
        ((), True, False, Volume(120, 18)),
        ((Volume(200, 20),), True, False, Volume(220, 22)),
        ((Volume(900, 500),), True, False, Volume(270, 36)),
    ],
)
def test_the_room_of_a_week_grows_from_the_persons_own_weeks(weeks, minor, away, room):
    assert room_of(weeks, minor=minor, away=away) == room
    assert room.fits(most_of(minor=minor))


def test_steps_share_the_hang_time_and_leave_each_other_something():
    big = replace(HOLDS, sets=4, reps=3, days=3)  # 180 s a week
    week = plan(case(own=big, loads=HANG), case("two", own=big, loads=HANG))
    assert codes(week) == ["one", "two"]
    assert week.total.hang_seconds <= 180
    assert why.ByRoom() in week.doses[0].why
    assert week.doses[0].volume.hang_seconds > week.doses[1].volume.hang_seconds


def test_hanging_reps_count_as_hang_time_and_pulls_as_pulls():
    assert PULLS.volume(PULL) == Volume(hang_seconds=3 * 4 * 3 * 2, pulls=24)
    assert PULLS.volume(HANG) == Volume(hang_seconds=72)
    assert HOLDS.volume(PULL) == Volume(hang_seconds=30)  # a hold at the top is no pull
    assert HOLDS.volume(FLOOR) == Volume()


def test_nothing_that_fits_is_left_out_and_nothing_fits_into_no_room():
    assert shrunk(HOLDS, HANG, Volume(hang_seconds=9)) is None
    assert shrunk(HOLDS, HANG, Volume(hang_seconds=10)) == replace(HOLDS, sets=1)
    assert shrunk(HOLDS, FLOOR, Volume()) == HOLDS
    assert shrunk(HOLDS, HANG, Volume(hang_seconds=29)) == replace(HOLDS, sets=2)


def test_a_coach_may_go_beyond_an_adults_room_and_never_beyond_a_minors():
    much = Change(replace(HOLDS, sets=10, hold_seconds=20, days=3))  # 600 s
    adult = plan(case(change=much, loads=HANG), case("two", loads=HANG))
    assert adult.total == Volume(600)
    assert [(out.code, out.why) for out in adult.left_out] == [("two", why.NoRoom())]
    minor = plan(case(change=much, loads=HANG), person=MINOR)
    assert minor.total.hang_seconds <= 120


# ---- A portion -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("portion", "seconds"),
    [
        (HOLDS, 3 * 5 + 2 * 60),
        (replace(HOLDS, reps=3, rest_seconds=10), 9 * 5 + 8 * 10),
        (PULLS, 12 * 3 + 2 * 120),
        (replace(HOLDS, sets=1), 5),
    ],
)
def test_a_day_lasts_as_long_as_its_holds_and_its_rests(portion, seconds):
    assert portion.seconds_a_day == seconds


@pytest.mark.parametrize(
    ("wrong", "is_hold", "field", "sentence"),
    [
        ({"sets": 0}, True, "sets", "Sets are a whole number from 1 to 20."),
        ({"sets": 21}, True, "sets", "Sets are a whole number from 1 to 20."),
        ({"reps": 51}, True, "reps", "Holds in a set are a whole number from 1 to 50."),
        ({"hold_seconds": 7}, True, "hold_seconds", "Holds are practised for 5, 10 or 20 s."),
        ({"hold_seconds": None}, True, "hold_seconds", "Holds are practised for 5, 10 or 20 s."),
        ({}, False, "hold_seconds", "This step is counted in reps: leave the seconds out."),
        ({"rest_seconds": 601}, True, "rest_seconds", "A rest lasts from 0 to 600 seconds."),
        ({"days": 4}, True, "days", "Practise on one to 3 days of a week."),
    ],
)
def test_a_coachs_portion_is_refused_with_the_field_and_a_sentence(wrong, is_hold, field, sentence):
    (mistake,) = mistakes_in_portion(replace(HOLDS, **wrong), is_hold=is_hold)
    assert (mistake.field, mistake.sentence) == (field, sentence)
