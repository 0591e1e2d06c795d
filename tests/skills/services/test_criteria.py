"""Adopting a standard: from now on, for everybody, and nothing that was decided moves."""

import pytest

from athletes.models import Athlete, AuditEntry, Gym, Membership
from skills.core.criteria import parse
from skills.core.standards import FIRST_STANDARD, FULL_STANDARD, standards_for, with_grade
from skills.models import CriterionVersion, Opening
from skills.services.criteria import CriterionMisfits, CriterionMoved, SameCriterion, adopt_criterion
from tests.factories.skills import criterion_of, decide, library, log, meet, page_of, reach
from tests.helpers.standing import standing_now


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def test_the_full_standard_asks_for_more_from_now_on(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    log(coach, athlete, "pullover-1", 6.0, reps=3, days_ago=2)
    adopt_criterion(by=owner, step=page_of(athlete.gym, "pullover-1"), criterion=parse(FULL_STANDARD))
    log(coach, athlete, "pullover-1", 6.0)
    assert standing_now(athlete, "pullover-1").base == "working"


def test_what_was_passed_before_stays_passed(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    meet(coach, athlete, "pullover-1", days_ago=1)
    adopt_criterion(by=owner, step=page_of(athlete.gym, "pullover-1"), criterion=parse(FULL_STANDARD))
    assert standing_now(athlete, "pullover-1").base == "passed"
    assert standing_now(athlete, "pullover-3").base == "working"


def test_a_lower_grade_passes_who_had_reached_it(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    """The strict pull-up graded by the gym: chest was asked, the chin is enough from now on."""
    page = page_of(athlete.gym, "pullover-3")
    chin = criterion_of(athlete.gym, "pullover-3")
    adopt_criterion(by=owner, step=page, criterion=with_grade(chin, 3))
    reach(coach, athlete, "pullover-3")
    for days in (1, 1, 0):
        log(coach, athlete, "pullover-3", reps=1, grade=1, days_ago=days)
    assert standing_now(athlete, "pullover-3").base == "working"
    adopt_criterion(by=owner, step=page, criterion=chin)
    assert standing_now(athlete, "pullover-3").base == "passed"
    assert standing_now(athlete, "pullover-3a").awaits == "entrance"


def test_an_easier_criterion_opens_what_follows(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    log(coach, athlete, "pullover-1", 20.0)
    one = parse({"holds": {"count": 1, "seconds": 5}})
    adopt_criterion(by=owner, step=page_of(athlete.gym, "pullover-1"), criterion=one)
    assert Opening.objects.filter(athlete=athlete, step__code="pullover-3").exists()


def test_sign_offs_keep_pointing_to_their_version(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    row = decide(coach, athlete, "pullover-3a", clearance="alone")
    adopt_criterion(by=owner, step=page_of(athlete.gym, "pullover-3a"), criterion=parse(FULL_STANDARD))
    row.refresh_from_db()
    assert row.criterion.number == 1
    now = standing_now(athlete, "pullover-3a")
    assert (now.base, now.flags, now.clearance) == ("passed", (), "alone")


def test_the_same_criterion_again_is_refused(owner: Membership, athlete: Athlete) -> None:
    with pytest.raises(SameCriterion):
        adopt_criterion(by=owner, step=page_of(athlete.gym, "pullover-1"), criterion=parse(FIRST_STANDARD))
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 1


def test_adopting_stands_in_the_audit_chain(owner: Membership, gym: Gym) -> None:
    version = adopt_criterion(by=owner, step=page_of(gym, "pullover-1"), criterion=parse(FULL_STANDARD))
    assert AuditEntry.objects.get(about=version.id).act == "criterion_adopted"


def test_the_standards_on_offer_leave_out_the_one_in_force(gym: Gym) -> None:
    page = page_of(gym, "pullover-1")
    offered = standards_for(criterion_of(gym, "pullover-1"), is_hold=page.form.is_hold, grades=page.form.grades)
    assert [standard.name for standard in offered] == ["full"]
    graded = page_of(gym, "pullover-3")
    offered = standards_for(criterion_of(gym, "pullover-3"), is_hold=graded.form.is_hold, grades=graded.form.grades)
    assert [standard.name for standard in offered] == ["grade-2", "grade-3"]


def test_one_that_was_weighed_against_an_older_version_is_refused(owner: Membership, gym: Gym) -> None:
    page = page_of(gym, "pullover-1")
    adopt_criterion(by=owner, step=page, criterion=parse(FULL_STANDARD), instead_of=1)
    with pytest.raises(CriterionMoved, match="Version 2 was adopted meanwhile"):
        adopt_criterion(by=owner, step=page, criterion=parse({"best": {"seconds": 9}}), instead_of=1)
    adopt_criterion(by=owner, step=page, criterion=parse({"best": {"seconds": 9}}), instead_of=2)
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 3


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"step": "pullover-3"}, "These steps would wait for one another: 1 Tucked hold in a long-arm hang → 3 "),
        ({"step": "cartwheel"}, "This gym has no step 'cartwheel'"),
        ({"reps": {"count": 1, "reps": 1}}, "This step is held"),
    ],
)
def test_one_that_does_not_fit_its_step_is_refused(
    owner: Membership, gym: Gym, data: dict[str, object], sentence: str
) -> None:
    with pytest.raises(CriterionMisfits, match=sentence):
        adopt_criterion(by=owner, step=page_of(gym, "pullover-1"), criterion=parse(data))
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 1
