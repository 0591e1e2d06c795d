"""What holds of every week that is worked out, whoever it is for and whatever is open to them."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from skills.core.dose import WeekPlan, plan_week
from skills.core.dose_limits import MOST_STEPS, RUNGS_S, Volume, most_of, room_of
from skills.core.dose_portions import Change, Person, StepCase
from skills.core.portions import MOST_REPS, MOST_SETS, Portion

LOADS = ["hanging", "pulling", "inversion", "support"]
SKILLS = ["bar", "rings", "wall"]


@st.composite
def portions(draw, *, is_hold: bool, ladder: bool = False) -> Portion:
    rungs = st.sampled_from(RUNGS_S) if ladder else st.integers(1, 60)
    return Portion(
        sets=draw(st.integers(1, MOST_SETS)),
        reps=draw(st.integers(1, MOST_REPS if ladder else 12)),
        hold_seconds=draw(rungs) if is_hold else None,
        rest_seconds=draw(st.integers(0, 300)),
        days=draw(st.integers(1, 3 if ladder else 7)),
    )


@st.composite
def cases(draw, code: str, *, changes: bool = True) -> StepCase:
    is_hold = draw(st.booleans())
    inverted = draw(st.booleans())
    changed = st.builds(Change, st.none() | portions(is_hold=is_hold, ladder=True))
    return StepCase(
        code=code,
        skill=draw(st.sampled_from(SKILLS)),
        standing=draw(st.sampled_from(["open", "open", "open", "passed", "paused", "stopped", "closed"])),
        own=draw(portions(is_hold=is_hold)),
        loads=frozenset(draw(st.sets(st.sampled_from(LOADS)))),
        side_drill=draw(st.booleans()),
        asks_clearance=inverted or draw(st.booleans()),
        low_bar=draw(st.booleans()),
        clearance=draw(st.sampled_from(["", "spotted", "present", "alone"])),
        target_tenths=draw(st.integers(0, 400)) if is_hold else 0,
        target_reps=0 if is_hold else draw(st.integers(0, 12)),
        best_tenths=draw(st.integers(0, 700)) if is_hold else 0,
        best_reps=0 if is_hold else draw(st.integers(0, 20)),
        change=draw(st.none() | changed) if changes else None,
    )


@st.composite
def weeks(draw, *, changes: bool = True) -> tuple[list[StepCase], Person, WeekPlan]:
    found = [draw(cases(f"step-{number}", changes=changes)) for number in range(draw(st.integers(0, 5)))]
    volumes = st.builds(Volume, st.integers(0, 2000), st.integers(0, 300))
    person = Person(
        minor=draw(st.booleans()),
        weeks=tuple(draw(st.lists(volumes, max_size=4))),
        days_away=draw(st.sampled_from([0, 0, 21, 90])),
        class_days=draw(st.integers(0, 6)),
    )
    next_code = draw(st.sampled_from([None, *(case.code for case in found)]))
    practised = draw(st.sets(st.sampled_from(SKILLS)))
    return found, person, plan_week(found, person, next_code=next_code, practised=practised)


@given(weeks(changes=False))
def test_no_worked_out_week_goes_beyond_the_room_or_the_caps(dealt):
    _, person, plan = dealt
    assert plan.total.fits(plan.room)
    assert plan.total.fits(most_of(minor=person.minor))


@given(weeks())
def test_a_minors_week_never_does_whatever_a_coach_put_there(dealt):
    found, person, _ = dealt
    minor = replace(person, minor=True)
    plan = plan_week(found, minor, next_code=None, practised=SKILLS)
    assert plan.total.fits(room_of(person.weeks, minor=True, away=bool(person.days_away)))


@given(weeks())
def test_an_adults_week_goes_beyond_it_only_by_what_a_coach_put_there(dealt):
    _, _, plan = dealt
    rest = [dose.volume for dose in plan.doses if not dose.changed]
    assert sum(rest, Volume()).fits(plan.room)


@given(weeks())
def test_nothing_is_practised_that_is_not_open_or_under_a_caution_or_without_consent(dealt):
    found, _, plan = dealt
    standing = {case.code: case.standing for case in found}
    assert {standing[dose.code] for dose in plan.doses} <= {"open", "passed"}


@given(weeks())
def test_what_asks_for_a_clearance_is_practised_outside_of_classes_only_with_alone(dealt):
    found, person, plan = dealt
    by_code = {case.code: case for case in found}
    for dose in plan.doses:
        case = by_code[dose.code]
        if case.asks_clearance and case.clearance != "alone":
            assert dose.place == "class"
            assert dose.portion.days <= max(person.class_days, 1)


@given(weeks())
def test_holds_are_on_the_ladder_and_days_are_one_to_three(dealt):
    _, _, plan = dealt
    for dose in plan.doses:
        assert dose.portion.hold_seconds in {None, *RUNGS_S}
        assert 1 <= dose.portion.days <= 3
        assert dose.portion.sets >= 1
        assert dose.portion.reps >= 1


@given(weeks(changes=False))
def test_there_are_at_most_three_steps_and_each_is_told_once(dealt):
    _, _, plan = dealt
    told = [dose.code for dose in plan.doses] + [left.code for left in plan.left_out]
    assert len(plan.doses) <= MOST_STEPS
    assert len(told) == len({*told})


@given(weeks())
def test_a_minor_has_no_hold_that_is_longer_than_three_quarters_of_the_best_but_with_help(dealt):
    found, person, _ = dealt
    unchanged = [replace(case, change=None) for case in found]
    by_code = {case.code: case for case in unchanged}
    plan = plan_week(unchanged, replace(person, minor=True), next_code=None, practised=SKILLS)
    for dose in plan.doses:
        rung, best = dose.portion.hold_seconds, by_code[dose.code].best_tenths
        if rung is not None and rung * 10 * 100 > best * 75:
            assert rung == RUNGS_S[0]
            assert "WithHelp" in {type(reason).__name__ for reason in dose.why}


@given(weeks())
def test_the_same_facts_give_the_same_week(dealt):
    found, person, _ = dealt
    first = plan_week(found, person, next_code="step-0", practised=["bar", "wall"])
    assert first == plan_week(tuple(found), replace(person), next_code="step-0", practised={"wall", "bar"})
