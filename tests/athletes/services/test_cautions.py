from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import AuditEntry, CautionLift, Remark
from athletes.queries.cautions import loads_forbidden
from athletes.services.cautions import (
    AlreadyLifted,
    EndsBeforeItBegins,
    NoLoads,
    ReasonTooLong,
    enter_caution,
    lift_caution,
)
from athletes.services.remarks import commitment

NOW = timezone.now()


def forbidden(athlete, now):
    return loads_forbidden(athlete_ids=[athlete.id], now=now).get(athlete.id, [])


def test_a_caution_keeps_its_reason_apart(coach, athlete):
    caution = enter_caution(
        by=coach, athlete=athlete, loads={"landing", "inversion"}, from_at=NOW, until_at=None, reason=" sore wrist "
    )
    assert caution.loads == ["inversion", "landing"]
    remark = Remark.objects.get(about=caution.id)
    assert (remark.text, remark.subject) == ("sore wrist", athlete.person)
    assert caution.remark_commitment == commitment(remark.salt, "sore wrist")
    assert "wrist" not in AuditEntry.objects.get().content


def test_a_caution_needs_no_reason(coach, athlete):
    caution = enter_caution(by=coach, athlete=athlete, loads=["pulling"], from_at=NOW, until_at=None, reason=" ")
    assert caution.remark_commitment == ""
    assert not Remark.objects.exists()


@pytest.mark.parametrize(
    ("changed", "refusal"),
    [
        ({"loads": []}, NoLoads),
        ({"loads": ["flying"]}, NoLoads),
        ({"until_at": NOW}, EndsBeforeItBegins),
        ({"reason": "x" * 2001}, ReasonTooLong),
    ],
)
def test_what_cannot_be_is_refused(coach, athlete, changed, refusal):
    wish = {"loads": ["hanging"], "from_at": NOW, "until_at": None, "reason": "", **changed}
    with pytest.raises(refusal):
        enter_caution(by=coach, athlete=athlete, **wish)
    assert not Remark.objects.exists()


def test_loads_are_forbidden_from_beginning_to_end(coach, athlete):
    day = timedelta(days=1)
    enter_caution(by=coach, athlete=athlete, loads=["landing"], from_at=NOW, until_at=NOW + 2 * day, reason="")
    enter_caution(by=coach, athlete=athlete, loads=["hanging"], from_at=NOW + day, until_at=None, reason="")
    told = [forbidden(athlete, NOW + offset) for offset in (-day / 9, 0 * day, day, 2 * day)]
    assert told == [[], ["landing"], ["hanging", "landing"], ["hanging"]]


def test_a_caution_is_lifted_once_and_forbids_nothing_from_then_on(coach, athlete):
    caution = enter_caution(by=coach, athlete=athlete, loads=["hanging"], from_at=NOW, until_at=None, reason="")
    lift = lift_caution(by=coach, caution=caution)
    assert forbidden(athlete, lift.happened_at - timedelta(microseconds=1)) == ["hanging"]
    assert forbidden(athlete, lift.happened_at) == []
    with pytest.raises(AlreadyLifted):
        lift_caution(by=coach, caution=caution)
    assert CautionLift.objects.count() == 1
