"""The demo gym's coach changed two doses in the week of its last day."""

from datetime import UTC, datetime

from athletes.models import Athlete, Remark
from athletes.services.remarks import commitment
from skills.core import dose_findings as why
from skills.core.weeks import monday_of
from skills.demo.dosing import LEFT_OUT, LIGHTER
from skills.models import Attempt, DoseChange
from skills.queries.books import book_of
from skills.queries.doses import dose_week
from tests.skills.demo.conftest import UNTIL

NOON = datetime(UNTIL.year, UNTIL.month, UNTIL.day, 12, tzinfo=UTC)


def week_of(gym, number):
    athlete = Athlete.objects.select_related("gym", "person").get(gym=gym, number=number)
    return dose_week(book_of(gym), athlete, NOON)


def test_one_has_a_lighter_week_and_one_leaves_a_step_out(demo_gym):
    lighter, left_out = week_of(demo_gym, LIGHTER[0]), week_of(demo_gym, LEFT_OUT[0])
    (changed,) = [dose for dose in lighter.plan.doses if dose.changed]
    assert (changed.portion.sets, changed.portion.rest_seconds) == (2, 150)
    assert lighter.changes[changed.code].by == "Rui Carvalhosa"
    assert lighter.changes[changed.code].reason == LIGHTER[1]
    assert why.NotThisWeek() in {left.why for left in left_out.plan.left_out}


def test_reasons_are_kept_apart_and_their_commitments_hold(demo_gym):
    rows = DoseChange.objects.filter(gym=demo_gym)
    assert rows.count() == 2
    for row in rows:
        remark = Remark.objects.get(about=row.id)
        assert row.remark_commitment == commitment(remark.salt, remark.text)
        assert (remark.subject, row.week_on) == (row.athlete.person, monday_of(UNTIL))


def test_those_with_a_log_in_entered_practice_of_their_own(demo_gym):
    own = Attempt.objects.filter(gym=demo_gym, source="own")
    assert own.count() > 20
    assert set(own.values_list("session", flat=True)) == {None}
    assert all(row.logged_by.athlete_id == row.athlete_id for row in own.select_related("logged_by"))


def test_everybody_who_practises_has_a_week_that_keeps_to_its_room(demo_gym):
    for athlete in Athlete.objects.filter(gym=demo_gym).select_related("gym", "person"):
        week = dose_week(book_of(demo_gym), athlete, NOON)
        unchanged = [dose for dose in week.plan.doses if not dose.changed]
        assert len(unchanged) <= 3
        if len(unchanged) == len(week.plan.doses):
            assert week.plan.total.fits(week.plan.room)
