"""Planning a class and planning it again: what is kept, what counts of what is over, what is refused."""

from dataclasses import replace

import pytest

from athletes.models import AuditEntry
from skills.core.class_shape import Words
from skills.core.rotation.asks import Apart, Pin
from skills.core.rotation.checking import broken_rules
from skills.models import ClassPlan
from skills.queries.kept_plans import whole_plan_of
from skills.services.class_plans import NobodyToPlanError, PlannedMeanwhileError, ShapeRefusedError, plan_class
from skills.services.planning import ClashingRulesError
from skills.services.sessions import SessionEndedError, end_session, mark_present, unmark_present
from tests.factories.athletes import make_athlete
from tests.factories.class_plans import SHORT, make_hall, make_measured
from tests.factories.skills import library, start_class


@pytest.fixture
def athletes(coach):
    library(coach.gym)
    found = [make_athlete(coach.gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl", "Dev Eze")]
    for athlete in found:
        make_measured(athlete)
    return found


@pytest.fixture
def hall(gym):
    return make_hall(gym)


@pytest.mark.django_db
def test_a_class_is_planned_and_the_plan_kept(coach, athletes, hall):
    session = start_class(coach, *athletes)
    row = plan_class(by=coach, session=session, shape=SHORT)
    whole = whole_plan_of(session)
    assert (row.number, row.first_rotation, row.rotations, whole.rotations) == (1, 0, 2, 2)
    assert whole.last.plan.seats
    assert not broken_rules(whole.last.ask, whole.last.plan)
    assert AuditEntry.objects.filter(act="class_planned").count() == 1
    assert "Ada" not in row.asked + row.planned
