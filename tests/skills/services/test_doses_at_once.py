"""One form that arrives eight times at the same instant, on the engine in use."""

from functools import partial
from typing import Any

import pytest
from django.db.models import QuerySet
from django.utils import timezone

from athletes.models import Gym
from athletes.services.audit import first_broken_link
from gymtrack.lib.ids import new_id
from skills.core.portions import Portion
from skills.core.weeks import monday_of
from skills.models import Attempt, DoseChange
from skills.services.doses import DoseOrder, change_dose
from skills.services.own_practice import OwnEntry, enter_own_practice
from tests.factories.skills import library, meet, page_of
from tests.helpers.threads import at_once, database_for_threads

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 8


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def _stored(rows: QuerySet[Any], gym: Gym) -> tuple[int, int | None]:
    return rows.count(), first_broken_link(gym)


@pytest.mark.parametrize(("code", "more", "rows"), [("pullover-1", {"hold_tenths": 52}, 1), ("pullover-3", {}, 3)])
def test_one_entry_of_own_practice_is_one(  # noqa: PLR0917 (fixtures)
    coach, athlete, athlete_member, tmp_path, code, more, rows
):
    meet(coach, athlete, "pullover-1", days_ago=2)
    today = timezone.localdate(timezone=athlete.gym.zone)
    said = {"sets": 3, "hold_tenths": None, "reps": 2} | more
    entry = OwnEntry(new_id(), athlete.id, page_of(athlete.gym, code).id, practised_on=today, **said)
    with database_for_threads(tmp_path):
        logged = at_once([partial(enter_own_practice, by=athlete_member, entry=entry)] * TIMES)
        stored = at_once([partial(_stored, Attempt.objects.filter(source="own"), athlete.gym)])
    assert len({one.attempt.id for one in logged}) == 1
    assert sum(one.created for one in logged) == 1
    assert stored == [(rows, None)]


def test_one_change_of_a_dose_is_one(coach, athlete, tmp_path):
    monday = monday_of(timezone.localdate(timezone=athlete.gym.zone))
    order = DoseOrder(monday, Portion(2, 1, 5, 60, 2), "Grip tires first.")
    change = partial(change_dose, by=coach, athlete=athlete, step=page_of(athlete.gym, "pullover-1"), order=order)
    with database_for_threads(tmp_path):
        kept = at_once([change] * TIMES)
        stored = at_once([partial(_stored, DoseChange.objects.all(), athlete.gym)])
    assert {one.id for one in kept} == {order.id}
    assert stored == [(1, None)]
