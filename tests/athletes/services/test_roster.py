from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.utils import timezone

from athletes.core.roster import RosterEntry
from athletes.models import Athlete, AuditEntry, BodyMeasure, Person
from athletes.services.measures import last_values
from athletes.services.roster import (
    AlreadyOnRoster,
    LeftBeforeJoining,
    change_athlete,
    enrol_athlete,
)
from tests.factories.athletes import make_athlete, make_measure

BO = RosterEntry("Bo Berg", date(1999, 4, 2), Decimal("1.810"), Decimal("77.50"), "Bo@Mail.Example", "left-handed")


def entry_of(athlete: Athlete, **changed: object) -> RosterEntry:
    person = athlete.person
    kept = {"full_name": person.full_name, "birth_on": person.birth_on, "email": person.email, "notes": person.notes}
    return RosterEntry(**{**kept, **changed})  # type: ignore[arg-type]


def acts() -> list[str]:
    return list(AuditEntry.objects.order_by("position").values_list("act", flat=True))


def test_enrolling_gives_the_next_number_and_notes_the_measure(coach, athlete):
    bo = enrol_athlete(by=coach, entry=BO)
    assert bo.number == athlete.number + 1
    assert (bo.person.full_name, bo.person.email, bo.person.notes) == ("Bo Berg", "bo@mail.example", "left-handed")
    assert last_values(bo) == (Decimal("1.810"), Decimal("77.50"))
    assert "Bo" not in AuditEntry.objects.get().content


def test_numbers_are_the_gyms_own(coach, other_coach):
    assert enrol_athlete(by=coach, entry=BO).number == 1
    assert enrol_athlete(by=other_coach, entry=BO).number == 1


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        # Berlin is an hour ahead of UTC until 2026-03-29 01:00 UTC and two hours from then on (IANA tzdata).
        (datetime(2026, 3, 28, 22, 59, tzinfo=UTC), date(2026, 3, 28)),
        (datetime(2026, 3, 28, 23, 0, tzinfo=UTC), date(2026, 3, 29)),
        (datetime(2026, 3, 29, 21, 59, tzinfo=UTC), date(2026, 3, 29)),
        (datetime(2026, 3, 29, 22, 0, tzinfo=UTC), date(2026, 3, 30)),
        # and from two hours to one on 2026-10-25 01:00 UTC
        (datetime(2026, 10, 24, 22, 0, tzinfo=UTC), date(2026, 10, 25)),
        (datetime(2026, 10, 25, 22, 59, tzinfo=UTC), date(2026, 10, 25)),
        (datetime(2026, 10, 25, 23, 0, tzinfo=UTC), date(2026, 10, 26)),
    ],
)
def test_the_day_of_joining_is_the_gyms(coach, moment, day):
    with time_machine.travel(moment, tick=False):
        bo = enrol_athlete(by=coach, entry=BO)
    assert bo.joined_on == day
    assert bo.measures.get().measured_on == day


def test_a_person_comes_of_age_at_the_gyms_midnight(gym):
    athlete = make_athlete(gym, "Uma Falk", birth_on=date(2008, 3, 29))
    with time_machine.travel(datetime(2026, 3, 28, 22, 59, 59, tzinfo=UTC), tick=False):
        assert athlete.is_minor()
        assert athlete.board_name == "U. F."
    with time_machine.travel(datetime(2026, 3, 28, 23, 0, tzinfo=UTC), tick=False):
        assert not athlete.is_minor()
        assert athlete.board_name == "Uma Falk"


@pytest.mark.parametrize("name", ["Bo Berg", "BO  berg", "bo BERG "])
def test_the_same_person_is_enrolled_once(coach, name):
    enrol_athlete(by=coach, entry=BO)
    with pytest.raises(AlreadyOnRoster, match="number 1"):
        enrol_athlete(by=coach, entry=RosterEntry(name, BO.birth_on))
    assert Athlete.objects.count() == 1
    assert enrol_athlete(by=coach, entry=RosterEntry(name, date(1999, 4, 3))).number == 2


def test_who_was_erased_is_nobody_to_be_found_again(coach, athlete):
    again = entry_of(athlete)
    Person.objects.filter(pk=athlete.person_id).update(erased_at=timezone.now())
    assert enrol_athlete(by=coach, entry=again).number == 2


def test_changing_an_athlete_stores_what_changed_and_says_which(coach, athlete):
    change_athlete(
        by=coach, athlete=athlete, entry=entry_of(athlete, full_name="Ada  Berg", stature_m=Decimal("1.700"))
    )
    athlete.person.refresh_from_db()
    assert athlete.person.full_name == "Ada Berg"
    assert last_values(athlete) == (Decimal("1.700"), None)
    assert AuditEntry.objects.get().content == '{"changed":["full_name","measures"]}'


def test_changing_nothing_leaves_no_trace(coach, athlete):
    make_measure(athlete)
    same = entry_of(athlete, stature_m=Decimal("1.720"), mass_kg=Decimal("68.50"))
    change_athlete(by=coach, athlete=athlete, entry=same)
    assert acts() == []
    assert BodyMeasure.objects.count() == 1


def test_a_mass_of_long_ago_is_noted_again_when_it_is_back(coach, athlete):
    for mass in ("68.50", "70.00", "68.50"):
        change_athlete(by=coach, athlete=athlete, entry=entry_of(athlete, mass_kg=Decimal(mass)))
    assert [m.mass_kg for m in athlete.measures.order_by("id")] == [Decimal(x) for x in ("68.50", "70.00", "68.50")]


def test_a_change_must_not_make_two_of_the_same(coach, athlete):
    enrol_athlete(by=coach, entry=BO)
    with pytest.raises(AlreadyOnRoster, match="number 2"):
        change_athlete(by=coach, athlete=athlete, entry=BO)
    athlete.person.refresh_from_db()
    assert athlete.person.full_name == "Ada Lindqvist"


def test_leaving_and_coming_back(coach, athlete):
    day = athlete.joined_on + timedelta(days=40)
    change_athlete(by=coach, athlete=athlete, entry=entry_of(athlete), left_on=day)
    athlete.refresh_from_db()
    assert athlete.left_on == day
    change_athlete(by=coach, athlete=athlete, entry=entry_of(athlete), left_on=None)
    athlete.refresh_from_db()
    assert athlete.left_on is None


def test_nobody_leaves_before_joining(coach, athlete):
    with pytest.raises(LeftBeforeJoining, match="2025-01-07"):
        change_athlete(by=coach, athlete=athlete, entry=entry_of(athlete), left_on=date(2025, 1, 6))
