"""Certificates from the table."""

from datetime import UTC, date, datetime, timedelta

from pytest_django.fixtures import DjangoAssertNumQueries

from athletes.models import Membership
from athletes.queries.certificates import certificates_at, certificates_of
from tests.factories.athletes import make_certificate

DAY = date(2026, 6, 1)
RECORDED = datetime(2026, 5, 1, tzinfo=UTC)
TICK = timedelta(microseconds=1)


def test_there_is_a_line_for_each_kind_that_was_entered(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, kind="safeguarding", valid_until=date(2026, 5, 31))
    make_certificate(coach, by=owner, kind="first_aid", valid_until=DAY)
    make_certificate(owner, by=owner)
    lines = certificates_at(coach.id, DAY)
    assert [(line.kind, line.words, line.good, line.lapsed) for line in lines] == [
        ("first_aid", "first aid", True, False),
        ("safeguarding", "safeguarding check", False, True),
    ]


def test_what_was_recorded_later_was_not_known(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, valid_until=DAY, recorded_at=RECORDED)
    make_certificate(coach, by=owner, recorded_at=RECORDED + TICK)
    known = [certificates_at(coach.id, DAY, known_at) for known_at in (RECORDED - TICK, RECORDED, RECORDED + TICK)]
    assert [[line.valid_until for line in lines] for lines in known] == [[], [DAY], [None]]
    assert certificates_at(coach.id, DAY) == known[-1]


def test_many_are_told_in_one_query(
    owner: Membership, coach: Membership, coach_two: Membership, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    make_certificate(coach, by=owner)
    for ids in ([coach.id], [coach.id, coach_two.id, owner.id]):
        with django_assert_num_queries(1):
            found = certificates_of(ids, DAY)
        assert [len(found[each]) for each in ids] == [1, 0, 0][: len(ids)]
