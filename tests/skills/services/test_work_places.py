"""The gym's stations: what is written down, what is refused, what the audit chain keeps."""

from dataclasses import replace

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.models import AuditEntry
from gymtrack.lib.ids import new_id
from skills.models import ClassPlan, RotationMark, ServedStep, WorkPlace
from skills.queries.class_plans import retired_work_places_of, stands_of, work_places_of
from skills.services.bars import retire_bar
from skills.services.work_places import (
    PlaceEntry,
    PlaceRefusedError,
    PlaceRetiredError,
    add_work_place,
    change_work_place,
    retire_work_place,
)
from tests.factories.bars import make_high_bar, make_low_bar
from tests.factories.class_plans import make_place, make_plan
from tests.factories.skills import library, start_class, step_of

RINGS = PlaceEntry("rings", "rings", 2, spot_from="behind, one hand at the hips")


def test_a_station_is_added_changed_and_taken_out_of_use(owner):
    place = add_work_place(by=owner, entry=RINGS)
    change_work_place(by=owner, place=place, entry=replace(RINGS, capacity=3, spot_from=""))
    assert [(row.name, row.capacity, row.spot_from) for row in work_places_of(owner.gym)] == [("rings", 3, "")]
    for _ in range(2):
        retire_work_place(by=owner, place=place)
    assert (work_places_of(owner.gym), retired_work_places_of(owner.gym)) == ([], [place])
    with pytest.raises(PlaceRetiredError):
        change_work_place(by=owner, place=place, entry=RINGS)
    acts = AuditEntry.objects.order_by("position")
    assert [*acts.values_list("act", flat=True)] == ["work_place_added", "work_place_changed", "work_place_retired"]
    assert not acts.filter(content__contains="hips").exists()


def test_the_same_form_twice_is_one_station(owner):
    key = new_id()
    assert add_work_place(by=owner, entry=RINGS, place_id=key) == add_work_place(by=owner, entry=RINGS, place_id=key)
    assert WorkPlace.objects.count() == 1


def test_two_stations_in_use_have_two_names(owner, other_coach):
    first = add_work_place(by=owner, entry=RINGS)
    with pytest.raises(PlaceRefusedError, match="has this name"):
        add_work_place(by=owner, entry=replace(RINGS, name="Rings"))
    second = add_work_place(by=owner, entry=replace(RINGS, name="other"))
    with pytest.raises(PlaceRefusedError, match="has this name"):
        change_work_place(by=owner, place=second, entry=RINGS)
    add_work_place(by=other_coach, entry=RINGS)
    retire_work_place(by=owner, place=first)
    change_work_place(by=owner, place=second, entry=RINGS)


def test_a_bar_is_at_one_station(owner):
    bar = make_low_bar(owner.gym)
    low = PlaceEntry("low bar", "low_bar", 2, bar=bar)
    place = add_work_place(by=owner, entry=low)
    with pytest.raises(PlaceRefusedError, match="Another station has this bar"):
        add_work_place(by=owner, entry=replace(low, name="low bar two"))
    change_work_place(by=owner, place=place, entry=low)
    (stand,) = stands_of(owner.gym, timezone.now())
    assert stand.adjustable
    retire_bar(by=owner, bar=bar)
    bar.refresh_from_db()
    with pytest.raises(PlaceRefusedError, match="was taken out of use"):
        change_work_place(by=owner, place=place, entry=replace(low, bar=bar))


def test_it_serves_the_ticked_steps_alone_and_all_of_its_kind_where_none_is(owner):
    library(owner.gym)
    steps = [step_of(owner.gym, code) for code in ("pullover-1", "pullover-2")]
    place = add_work_place(by=owner, entry=PlaceEntry("high bar", "high_bar", 1, steps=steps))
    (stand,) = stands_of(owner.gym, timezone.now())
    assert stand.serves == frozenset({"pullover-1", "pullover-2"})
    change_work_place(by=owner, place=place, entry=PlaceEntry("high bar", "high_bar", 1))
    (stand,) = stands_of(owner.gym, timezone.now())
    assert stand.serves is None
    assert not ServedStep.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 61}, "name"),
        ({"capacity": 0}, "capacity"),
        ({"capacity": 61}, "capacity"),
        ({"spot_from": "x" * 121}, "spot_from"),
        ({"name": "where Olga Brandt stands"}, "name"),
        ({"spot_from": "next to Olga Brandt"}, "spot_from"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(owner, changed, field):
    with pytest.raises(PlaceRefusedError) as caught:
        add_work_place(by=owner, entry=replace(RINGS, **changed))
    assert [problem.field for problem in caught.value.problems] == [field]
    assert not WorkPlace.objects.exists()


def test_only_bars_have_a_bar_and_only_steps_of_the_kind_are_served(owner):
    library(owner.gym)
    wrong = replace(RINGS, bar=make_high_bar(owner.gym), steps=[step_of(owner.gym, "pullover-1")])
    with pytest.raises(PlaceRefusedError) as caught:
        add_work_place(by=owner, entry=wrong)
    assert [problem.field for problem in caught.value.problems] == ["bar", "steps"]


# ---- What the database holds ----------------------------------------------------------------------------------------


@pytest.fixture
def rows(coach):
    """A row of each of the tables of stations and plans."""
    library(coach.gym)
    place = make_place(coach.gym, "high bar", "high_bar")
    session = start_class(coach)
    served = ServedStep.objects.create(gym=coach.gym, place=place, step=step_of(coach.gym, "pullover-1"))
    mark = RotationMark.objects.create(
        gym=coach.gym, session=session, rotation=0, marked_by=coach, happened_at=timezone.now()
    )
    return {WorkPlace: place, ServedStep: served, ClassPlan: make_plan(coach, session), RotationMark: mark}


@pytest.mark.parametrize("model", [WorkPlace, ServedStep, ClassPlan, RotationMark])
def test_a_row_never_changes_its_gym(rows, other_gym, model):
    found = model.objects.filter(pk=rows[model].pk)
    with pytest.raises(IntegrityError), transaction.atomic():
        found.update(gym=other_gym)
    assert found.get().gym_id != other_gym.id


@pytest.mark.parametrize("model", [ClassPlan, RotationMark])
def test_plans_and_marks_are_only_appended(rows, model):
    found = model.objects.filter(pk=rows[model].pk)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        found.update(recorded_at=timezone.now())
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        found._raw_delete(found.db)
    assert found.exists()


def test_a_station_has_no_bar_of_another_gym(rows, other_gym):
    with pytest.raises(IntegrityError), transaction.atomic():
        WorkPlace.objects.filter(pk=rows[WorkPlace].pk).update(bar=make_high_bar(other_gym))


def test_a_plan_is_of_a_class_of_its_gym(rows, other_coach):
    elsewhere = start_class(other_coach)
    plan = rows[ClassPlan]
    with pytest.raises(IntegrityError), transaction.atomic():
        ClassPlan.objects.create(
            gym=plan.gym,
            session=elsewhere,
            number=1,
            rotations=1,
            rotation_minutes=5,
            asked="{}",
            planned="{}",
            made_by=plan.made_by,
            happened_at=timezone.now(),
        )
