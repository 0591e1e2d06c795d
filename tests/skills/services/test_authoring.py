"""Authoring: a skill is saved whole or not at all, everybody's readiness follows, and files come back as they left."""

from dataclasses import replace
from random import Random
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings

from athletes.models import AuditEntry, Gym
from athletes.services.audit import first_broken_link
from skills.core.days import moment_us
from skills.library import FaultText, SkillText, StepText, read_skill
from skills.library.changes import first_criterion
from skills.library.writing import skill_yaml
from skills.models import CriterionVersion, Opening, Prerequisite, Step, StepVersion
from skills.queries.books import book_known_at, book_of
from skills.queries.texts import former_words, skill_texts
from skills.services import authoring
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution
from tests.factories.skills import days_before_now, decide, library, log, meet, page_of, pass_step, reach, step_of
from tests.helpers.standing import standing_now
from tests.library_strategies import skills


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def text_of(gym: Gym, code: str) -> StepText:
    return next(step for skill in skill_texts(gym.id).values() for step in skill.steps if step.code == code)


def change(owner, code: str, slug: str = "bar-pullover", seen: int | None = None, **changes: Any) -> None:
    number = StepVersion.objects.filter(gym=owner.gym, step__code=code).count()
    authoring.change_step(by=owner, slug=slug, step=replace(text_of(owner.gym, code), **changes), seen=seen or number)


def refused(act, *args, **kwargs) -> tuple[str, ...]:
    with pytest.raises(authoring.NotSaved) as caught:
        act(*args, **kwargs)
    return tuple(map(str, caught.value.found))


def state(gym: Gym) -> tuple[object, ...]:
    """All that saving may touch."""
    counts = (model.objects.filter(gym=gym).count() for model in (StepVersion, CriterionVersion, AuditEntry, Opening))
    return (Gym.objects.get(pk=gym.pk).rules_stamp, skill_texts(gym.id), *counts)


def rebuilt_is_kept() -> None:
    call_command("rebuild", "--check", verbosity=0)


# ---- Steps ----------------------------------------------------------------------------------------------


def test_a_changed_step_gets_a_version_a_stamp_and_a_link_in_the_chain(gym, owner):
    before = Gym.objects.get(pk=gym.pk).rules_stamp
    change(owner, "pullover-1", name="Tuck", faults=(FaultText("late", "Late", "Now", dangerous=True),))
    assert page_of(gym, "pullover-1").name == "Tuck"
    assert page_of(gym, "pullover-1").faults == (("late", "Late"),)
    version = StepVersion.objects.get(step__code="pullover-1", number=2)
    assert version.adopted_by == owner
    assert Gym.objects.get(pk=gym.pk).rules_stamp != before
    assert AuditEntry.objects.filter(gym=gym, act="skill_saved").count() == 1
    assert first_broken_link(gym) is None


def test_the_book_of_before_still_tells_the_old_step(gym, owner):
    recorded = StepVersion.objects.get(step__code="pullover-1").recorded_at
    change(owner, "pullover-1", name="Tuck", recheck_days=7)
    old = book_known_at(Gym.objects.get(pk=gym.pk), moment_us(recorded))
    assert old.steps["pullover-1"].name == "Tucked hold in a long-arm hang"
    assert old.rules.steps["pullover-1"].recheck_days == 28
    assert book_of(Gym.objects.get(pk=gym.pk)).rules.steps["pullover-1"].recheck_days == 7


def test_words_alone_move_nobody(gym, owner, coach, athlete):
    meet(coach, athlete, "pullover-1")
    with CaptureQueriesContext(connection) as asked:
        change(owner, "pullover-1", purpose="To begin with.")
    assert not [query for query in asked.captured_queries if "skills_steptimeline" in query["sql"]]
    rebuilt_is_kept()


def test_saving_what_is_there_changes_nothing(gym, owner):
    before = state(gym)
    change(owner, "pullover-1")
    assert state(gym) == before


def test_a_step_changed_by_somebody_else_is_not_overwritten(gym, owner):
    change(owner, "pullover-1", name="Tuck")
    before = state(gym)
    with pytest.raises(authoring.ChangedMeanwhile):
        change(owner, "pullover-1", seen=1, name="Hold")
    assert state(gym) == before


def test_a_new_step_begins_with_the_usual_criterion(gym, owner):
    for code, measure, usual in (
        ("held", "hold", '{"holds":{"assistance":["none"],"clean":true,"count":3,"dates":2'),
        ("done", "reps", '{"reps":{"assistance":["none"],"clean":true,"count":3,"dates":2'),
    ):
        model = text_of(gym, "pullover-1" if measure == "hold" else "pullover-3")
        step = replace(model, code=code, label=code, grades=())
        authoring.add_step(by=owner, slug="bar-pullover", step=step)
        assert CriterionVersion.objects.get(step__code=code).tree.startswith(usual)
    assert list(page_of(gym, "done").criterion_ids) == [1]
    assert [step.code for step in skill_texts(gym.id)["bar-pullover"].steps][-2:] == ["held", "done"]


def test_a_new_step_opens_at_once_for_who_has_passed_what_leads_to_it(gym, owner, coach, athlete):
    pass_step(coach, athlete, "pullover-1")
    step = replace(text_of(gym, "pullover-2"), code="slow", label="2s", requires=("pullover-1",))
    authoring.add_step(by=owner, slug="bar-pullover", step=step)
    assert standing_now(athlete, "slow").base == "working"
    rebuilt_is_kept()


def test_the_measure_stays_once_tries_are_logged(gym, owner, coach, athlete):
    reps = text_of(gym, "pullover-3")
    change(owner, "pullover-1", measure="reps", dose=reps.dose)
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 2
    log(coach, athlete, "pullover-1", reps=1)
    hold = text_of(gym, "pullover-2")
    before = state(gym)
    assert refused(change, owner, "pullover-1", measure="hold", dose=hold.dose) == (
        "bar-pullover, step pullover-1, measure: cannot change any more: tries of this step are logged.",
    )
    assert state(gym) == before


def test_a_circle_is_refused_by_name(gym, owner):
    before = state(gym)
    (told,) = refused(change, owner, "pullover-4", requires=("pullover-7",))
    assert told.startswith("These steps wait for each other in a circle: ")
    assert "4 Pull turned into an inversion" in told
    assert "7 " in told
    assert state(gym) == before


def test_a_step_named_by_an_old_criterion_may_not_wait_for_that_one(gym, owner):
    """The criterion is replaced, and still rules the time when it was in force."""
    text = skill_texts(gym.id)["l-hold"]
    first, second = text.steps[:2]
    free = replace(second, requires=())
    waits = replace(first, criterion={"all": [first.criterion, {"step": second.code}]})
    authoring.import_skill(by=owner, text=replace(text, steps=(waits, free)))
    authoring.import_skill(by=owner, text=replace(text, steps=(first, free)))
    (told,) = refused(authoring.import_skill, by=owner, text=replace(text, steps=(first, second)))
    assert told.startswith("These steps wait for each other in a circle: ")


def test_an_unknown_step_and_a_number_used_twice_are_named(gym, owner):
    assert refused(change, owner, "pullover-1", requires=("nowhere",)) == (
        "bar-pullover, step pullover-1, requires: there is no step “nowhere”.",
    )
    assert refused(change, owner, "pullover-1", label="2") == (
        "bar-pullover, step pullover-1, label: another step of this skill has the number “2” already.",
    )


def test_a_grade_that_the_criterion_asks_for_stays(gym, owner):
    (told,) = refused(change, owner, "pullover-3", grades=())
    assert told == (
        "bar-pullover, step pullover-3, criterion.reps.grade_at_least: "
        "This step is not graded, so no try reaches grade 1."
    )


# ---- Readiness ------------------------------------------------------------------------------------------


def test_a_new_prerequisite_keeps_open_what_was_tried(gym, owner, coach, athlete, minor):
    meet(coach, athlete, "pullover-1", days_ago=1)
    change(owner, "pullover-1", requires=("handstand-1",))
    assert Opening.objects.filter(athlete=athlete, step__code="pullover-1").count() == 1
    assert standing_now(athlete, "pullover-1").base == "passed"
    assert standing_now(minor, "pullover-1").base == "closed"
    rebuilt_is_kept()


def test_a_try_that_was_taken_back_keeps_nothing_open(gym, owner, coach, athlete):
    void_attempt(by=coach, attempt=log(coach, athlete, "pullover-1", 5), reason="wrong athlete")
    change(owner, "pullover-1", requires=("handstand-1",))
    assert not Opening.objects.filter(athlete=athlete).exists()
    rebuilt_is_kept()


def test_what_follows_an_inverted_step_is_brought_up_to_date(gym, owner, coach, athlete):
    reach(coach, athlete, "pullover-4")
    change(
        owner,
        "pullover-2",
        inverted=True,
        loads=("hanging", "inversion"),
        asks_clearance=True,
        needs_sign_off=True,
        getting_down="Feet first.",
    )
    change(owner, "pullover-1", recheck_days=1)
    change(owner, "pullover-3", requires=(), loads=("pulling",))
    rebuilt_is_kept()


@pytest.mark.parametrize("seed", range(3))
def test_kept_timelines_equal_a_rebuild_whatever_rules_change(owner, coach, athlete, minor, seed):
    """Prerequisites, gates, loads and re-checks change at random, over two histories, one under a caution."""
    reach(coach, athlete, "pullover-4")
    meet(coach, minor, "pullover-1", days_ago=40)
    enter_caution(
        by=coach, athlete=minor, loads=frozenset({"pulling"}), from_at=days_before_now(1), until_at=None, reason="elbow"
    )
    rng = Random(seed)
    codes = ("pullover-1", "pullover-2", "pullover-3", "pullover-3a", "pullover-4")
    for _ in range(4):
        place = rng.randrange(len(codes))
        text = text_of(owner.gym, codes[place])
        gated = text.inverted or rng.random() < 0.4
        change(
            owner,
            text.code,
            requires=tuple(sorted(rng.sample(codes[:place], rng.randint(0, place)))),
            loads=tuple({*rng.sample(["hanging", "pulling", "landing"], 2), *(["inversion"] if text.inverted else [])}),
            recheck_days=rng.choice([None, 1, 28, 60]),
            asks_clearance=gated,
            needs_sign_off=text.inverted or rng.random() < 0.5,
        )
        rebuilt_is_kept()


def test_sign_offs_keep_pointing_to_the_criterion_they_were_made_under(gym, owner, coach, athlete):
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    row = decide(coach, athlete, "pullover-3a", clearance="alone")
    text = skill_texts(gym.id)["bar-pullover"]
    harder = {"holds": {"count": 5, "seconds": 20}}
    steps = tuple(replace(s, criterion=harder, name="New") if s.code == "pullover-3a" else s for s in text.steps)
    authoring.import_skill(by=owner, text=replace(text, steps=steps))
    row.refresh_from_db()
    assert row.criterion.number == 1
    assert CriterionVersion.objects.filter(step__code="pullover-3a").count() == 2
    assert standing_now(athlete, "pullover-3a").base == "passed"
    rebuilt_is_kept()


def test_a_fault_taken_off_stays_readable_in_old_attempts(gym, owner, coach, athlete):
    log(coach, athlete, "pullover-1", 5, faults=("swings-in",))
    kept = tuple(fault for fault in text_of(gym, "pullover-1").faults if fault.code != "swings-in")
    change(owner, "pullover-1", faults=kept)
    page = page_of(gym, "pullover-1")
    assert "swings-in" not in dict(page.faults)
    assert page.fault_names["swings-in"] == "Swings into the tuck"
    assert former_words(gym.id, page.id)["faults"]["swings-in"] == "Swings into the tuck"


# ---- Skills and their order ----------------------------------------------------------------------------------


def test_a_skill_is_added_at_its_place_and_renamed(gym, owner):
    authoring.add_skill(by=owner, heading=SkillText("roll", "Roll", "To roll.", ()), place=1)
    assert [*skill_texts(gym.id)][:3] == ["bar-pullover", "roll", "chest-to-bar-pull-up"]
    authoring.change_skill(by=owner, slug="roll", name="Roll on", purpose="To roll.", place=0)
    assert next(iter(skill_texts(gym.id).values())) == SkillText("roll", "Roll on", "To roll.", ())
    assert refused(authoring.add_skill, by=owner, heading=SkillText("roll", "R", "R.", ()), place=0) == (
        "skill: There is a skill “roll” already.",
    )


def test_steps_move_up_and_down_and_stop_at_the_ends(gym, owner):
    def order() -> list[str]:
        return [code for code, page in book_of(Gym.objects.get(pk=gym.pk)).steps.items() if page.skill_slug == "l-hold"]

    before = order()
    authoring.move_step(by=owner, slug="l-hold", code=before[1], up=True)
    assert order() == [before[1], before[0], *before[2:]]
    entries = AuditEntry.objects.count()
    authoring.move_step(by=owner, slug="l-hold", code=before[1], up=True)
    assert AuditEntry.objects.count() == entries


# ---- Files ----------------------------------------------------------------------------------------------


def test_every_skill_of_the_gym_comes_back_unchanged(gym, owner):
    before = state(gym)
    for slug, text in skill_texts(gym.id).items():
        file = skill_yaml(text)
        assert authoring.import_skill(by=owner, text=read_skill(file, where=slug)).nothing
        assert skill_yaml(skill_texts(gym.id)[slug]) == file
    assert state(gym) == before


@given(skills())
@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_skill_comes_in_and_goes_out_the_same(gym, owner, skill):
    mine = {step.code: f"x-{skill.skill[:20]}-{step.code}"[:60].rstrip("-") for step in skill.steps}
    steps = tuple(
        replace(
            step,
            code=mine[step.code],
            requires=tuple(mine[code] for code in step.requires),
            criterion=first_criterion(step.measure),
        )
        for step in skill.steps
    )
    text = replace(skill, skill=f"x-{skill.skill}"[:60].rstrip("-"), steps=steps)
    if Step.objects.filter(gym=gym, code__in=mine.values()).exists():
        return
    authoring.import_skill(by=owner, text=text)
    file = skill_yaml(skill_texts(gym.id)[text.skill])
    assert file == skill_yaml(text)
    before = state(gym)
    assert authoring.import_skill(by=owner, text=read_skill(file, where="again")).nothing
    assert state(gym) == before


def test_a_preview_stores_nothing_and_a_stale_one_is_refused(gym, owner):
    text = replace(skill_texts(gym.id)["l-hold"], name="Held L")
    before = state(gym)
    assert authoring.preview_import(by=owner, text=text).heading == ("name",)
    assert state(gym) == before
    seen = Gym.objects.get(pk=gym.pk).rules_stamp
    authoring.import_skill(by=owner, text=text, seen=seen)
    with pytest.raises(authoring.ChangedMeanwhile):
        authoring.import_skill(by=owner, text=replace(text, name="L"), seen=seen)


def test_steps_that_the_file_does_not_name_stay(gym, owner):
    text = skill_texts(gym.id)["l-hold"]
    authoring.import_skill(by=owner, text=replace(text, steps=text.steps[1:]))
    assert {s.code for s in skill_texts(gym.id)["l-hold"].steps} == {s.code for s in text.steps}


def test_a_step_of_another_skill_is_not_taken_over(gym, owner):
    text = skill_texts(gym.id)["l-hold"]
    taken = replace(text.steps[0], label="x", code="pullover-1")
    assert "The step “pullover-1” is there more than once." in refused(
        authoring.import_skill, by=owner, text=replace(text, steps=(*text.steps, taken))
    )


def test_connections_follow_the_text(gym, owner):
    change(owner, "pullover-2", requires=("pullover-3", "handstand-1"))
    codes = Prerequisite.objects.filter(step=step_of(gym, "pullover-2")).values_list("requires__code", flat=True)
    assert {*codes} == {"pullover-3", "handstand-1"}
