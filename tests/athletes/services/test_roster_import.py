"""Storing what a preview of a roster showed, and nothing else."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from django.db import transaction

from athletes.core.roster import RosterEntry, RosterLine
from athletes.core.roster_plan import Choice
from athletes.models import Athlete, AuditEntry, BodyMeasure, Gym, Membership, Person
from athletes.services.measures import last_values
from athletes.services.roster import change_athlete, enrol_athlete
from athletes.services.roster_import import (
    EnrolReport,
    LineRefused,
    RosterChanged,
    enrol_from_shell,
    enrol_previewed,
    preview_roster,
)
from tests.factories.athletes import make_athlete, years_before_today

BO = RosterEntry("Bo Berg", date(1999, 4, 2), Decimal("1.810"), Decimal("77.50"), "bo@mail.example", "left-handed")
LIKE_BO = RosterEntry("Bó Berg", BO.birth_on, email="new@mail.example")


def lines_of(entries: list[RosterEntry]) -> list[RosterLine]:
    return [RosterLine(line, entry) for line, entry in enumerate(entries, start=2)]


def imported(by: Membership, entries: list[RosterEntry], *choices: Choice) -> EnrolReport:
    """Import these entries as lines 2, 3, … with a choice for each doubtful one, in their order."""
    lines = lines_of(entries)
    plan = preview_roster(gym=by.gym, lines=lines)
    said = {doubt.line.line: choice for doubt, choice in zip(plan.doubtful, choices, strict=True)}
    return enrol_previewed(by=by, lines=lines, choices=said, seen=plan.digest)


def acts() -> list[str]:
    return list(AuditEntry.objects.order_by("position").values_list("act", flat=True))


def test_importing_twice_adds_nothing(coach, athlete):
    ada = RosterEntry(athlete.person.full_name, athlete.person.birth_on)
    many = [BO, RosterEntry("Cy Chen"), ada]
    assert imported(coach, many) == EnrolReport(added=2, known=1, measured=0)
    assert [a.number for a in Athlete.objects.order_by("number")] == [1, 2, 3]
    assert imported(coach, many) == EnrolReport(added=0, known=3, measured=0)
    assert Athlete.objects.count() == 3
    assert BodyMeasure.objects.count() == 1
    assert acts() == ["roster_enrolled"]


def test_of_who_is_known_only_a_new_measure_is_added(coach):
    imported(coach, [BO])
    newer = replace(BO, mass_kg=Decimal("80.00"), email="new@mail.example", notes="new")
    assert imported(coach, [newer]) == EnrolReport(added=0, known=1, measured=1)
    bo = Athlete.objects.get()
    assert last_values(bo) == (Decimal("1.810"), Decimal("80.00"))
    assert (bo.person.email, bo.person.notes) == ("bo@mail.example", "left-handed")


def test_an_older_file_does_not_undo_a_newer_measure(coach):
    imported(coach, [BO])
    bo = Athlete.objects.get()
    change_athlete(by=coach, athlete=bo, entry=RosterEntry("Bo Berg", BO.birth_on, mass_kg=Decimal("80.00")))
    assert imported(coach, [BO]).measured == 0
    assert last_values(bo) == (Decimal("1.810"), Decimal("80.00"))


@pytest.mark.parametrize("birth_on", [None, years_before_today(15)])
def test_a_minors_mass_is_not_taken_and_waits_for_nobody(coach, birth_on):
    """Without a birth date somebody counts as a minor. The stature is taken, and the same file adds nothing."""
    mia = RosterEntry("Mia Okafor", birth_on, Decimal("1.520"), Decimal("41.30"))
    assert imported(coach, [mia]) == EnrolReport(added=1, known=0, measured=0)
    assert imported(coach, [mia]) == EnrolReport(added=0, known=1, measured=0)
    heavier = replace(mia, stature_m=None, mass_kg=Decimal("43.00"))
    assert imported(coach, [heavier]) == EnrolReport(added=0, known=1, measured=0)
    change_athlete(by=coach, athlete=Athlete.objects.get(), entry=heavier)
    assert list(BodyMeasure.objects.values_list("stature_m", "mass_kg")) == [(Decimal("1.520"), None)]


def test_the_administrator_imports_without_being_a_member(gym):
    lines = lines_of([BO])
    seen = preview_roster(gym=gym, lines=lines).digest
    assert enrol_from_shell(gym=gym, lines=lines, choices={}, seen=seen).added == 1
    assert AuditEntry.objects.get().actor is None


def test_importing_takes_as_many_queries_for_three_as_for_one(coach, django_assert_num_queries):
    people = [RosterEntry(f"Person {n}", stature_m=Decimal("1.7")) for n in ("one", "three", "seven", "thirty")]
    for entries in (people[:1], people[1:]):
        lines = lines_of(entries)
        seen = preview_roster(gym=coach.gym, lines=lines).digest
        with django_assert_num_queries(11):
            enrol_previewed(by=coach, lines=lines, choices={}, seen=seen)


def test_the_same_person_may_be_left_or_changed_and_another_added(coach):
    bo = enrol_athlete(by=coach, entry=BO)
    assert imported(coach, [LIKE_BO], Choice("leave", bo.number)) == EnrolReport(0, 0, 0, left=1)
    assert acts() == ["athlete_enrolled"]
    assert imported(coach, [LIKE_BO], Choice("take", bo.number)) == EnrolReport(0, 0, 0, changed=1)
    person = Person.objects.get(athlete=bo)
    assert (person.full_name, person.email, person.notes) == ("Bó Berg", "new@mail.example", "left-handed")
    entry = AuditEntry.objects.get(act="roster_enrolled")
    assert entry.content == f'{{"added":[],"changed":["{bo.id}"],"measured":0}}'
    assert imported(coach, [LIKE_BO]) == EnrolReport(0, 1, 0)
    assert imported(coach, [BO], Choice("add")) == EnrolReport(1, 0, 0)
    assert Athlete.objects.count() == 2


def test_new_details_bring_new_measures_and_no_old_ones(coach):
    bo = enrol_athlete(by=coach, entry=BO)
    heavier = replace(LIKE_BO, mass_kg=Decimal("80.00"))
    assert imported(coach, [heavier], Choice("take", bo.number)).changed == 1
    assert last_values(bo) == (Decimal("1.810"), Decimal("80.00"))
    assert BodyMeasure.objects.count() == 2


def test_a_person_in_two_lines_is_added_once_where_a_coach_says_so(coach):
    report = imported(coach, [BO, LIKE_BO, RosterEntry("Berg Bo")], Choice("leave"), Choice("add"))
    assert report == EnrolReport(2, 0, 0, left=1)
    assert [a.person.full_name for a in Athlete.objects.select_related("person")] == ["Bo Berg", "Berg Bo"]


def test_what_was_not_shown_is_not_stored(coach, gym):
    lines = lines_of([BO])
    seen = preview_roster(gym=gym, lines=lines).digest
    make_athlete(gym, "Bo Berg", birth_on=BO.birth_on)
    with pytest.raises(RosterChanged, match="look it over once more"):
        enrol_previewed(by=coach, lines=lines, choices={}, seen=seen)
    other = lines_of([replace(BO, notes="right-handed")])
    for wrong in (seen, "", preview_roster(gym=gym, lines=other).digest):
        with pytest.raises(RosterChanged):
            enrol_previewed(by=coach, lines=lines, choices={}, seen=wrong)
    assert Athlete.objects.count() == 1


@pytest.mark.parametrize(
    "choices",
    [
        {},
        {3: Choice("add")},
        {2: Choice("take", 99)},
        {2: Choice("leave", 99)},
        {2: Choice("take")},
        {2: Choice("leave")},
    ],
    ids=["none", "another line", "take nobody", "leave nobody", "take no number", "leave no number"],
)
def test_a_choice_that_does_not_fit_is_refused(coach, gym, choices):
    enrol_athlete(by=coach, entry=BO)
    lines = lines_of([LIKE_BO])
    seen = preview_roster(gym=gym, lines=lines).digest
    with pytest.raises(LineRefused, match="Choose who line 2 is") as refused:
        enrol_previewed(by=coach, lines=lines, choices=choices, seen=seen)
    assert refused.value.line == 2
    assert Athlete.objects.count() == 1


def test_nobody_takes_the_details_of_two_lines(coach):
    bo = enrol_athlete(by=coach, entry=BO)
    two = [LIKE_BO, RosterEntry("Berg Bo", BO.birth_on)]
    with pytest.raises(LineRefused, match="Number 1 cannot take the details of two lines"):
        imported(coach, two, Choice("take", bo.number), Choice("take", bo.number))


def test_new_details_do_not_make_two_of_the_same(coach):
    enrol_athlete(by=coach, entry=BO)
    other = enrol_athlete(by=coach, entry=LIKE_BO)
    with pytest.raises(LineRefused, match="there would be two of this name and birth date"):
        imported(coach, [RosterEntry("Bo Berg")], Choice("take", other.number))
    with pytest.raises(LineRefused, match="there would be two of this name and birth date"):
        imported(coach, [RosterEntry("Berg Bo", BO.birth_on), RosterEntry("Berg Bo")], Choice("add"), Choice("take", 1))
    assert sorted(Person.objects.filter(athlete__isnull=False).values_list("full_name", flat=True)) == [
        "Bo Berg",
        "Bó Berg",
    ]


def test_nothing_is_stored_of_an_import_that_fails_at_its_end(coach, gym, monkeypatch):
    monkeypatch.setattr("athletes.services.roster_import.record_act", _broken)
    with pytest.raises(RuntimeError), transaction.atomic():
        imported(coach, [BO])
    assert not Athlete.objects.exists()


def _broken(**_told: object) -> None:
    raise RuntimeError


def test_who_was_erased_is_resembled_by_nobody(coach, gym, other_gym):
    make_athlete(other_gym, "Bo Berg", birth_on=BO.birth_on)
    bo = make_athlete(gym, "Bo Berg", birth_on=BO.birth_on)
    Person.objects.filter(pk=bo.person_id).update(erased_at=bo.gym.made_at, full_name="", birth_on=None)
    plan = preview_roster(gym=Gym.objects.get(pk=gym.pk), lines=lines_of([LIKE_BO]))
    assert [line.entry for line in plan.added] == [LIKE_BO]
