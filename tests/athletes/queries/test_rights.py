"""Rights as facts: what the tables say of the past, and that the present is the last of them."""

from collections.abc import Collection
from datetime import datetime, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from pytest_django.fixtures import DjangoAssertNumQueries

from athletes.core.rights import RIGHTS
from athletes.models import Gym, Membership, RightsChange
from athletes.queries.rights import rights_at, rights_over_time
from athletes.services.gyms import found_gym
from athletes.services.invitations import invite_staff
from athletes.services.joining import join_anew, offer_of_code
from athletes.services.staff import change_rights, end_membership
from tests.factories.athletes import PASSWORD, Role, make_member

TICK = timedelta(microseconds=1)
ALL = frozenset(RIGHTS)
NONE: frozenset[str] = frozenset()


def held_now(member: Membership) -> frozenset[str]:
    """What the columns of a membership say."""
    if member.ended_at:
        return NONE
    return ALL if member.is_owner else frozenset(right for right in RIGHTS if getattr(member, right))


def join_as_coach(owner: Membership, name: str, rights: Collection[str]) -> Membership:
    """A coach who was invited with these rights, and joined with a new account."""
    made = invite_staff(by=owner, full_name=name, email="", role=Role.COACH, rights=frozenset(rights))
    email = f"{name[:4].lower()}@mill.example"
    joined = join_anew(offer=offer_of_code(made.code), email=email, password=PASSWORD)
    assert joined
    return joined


def _of(coach: Membership) -> list[RightsChange]:
    return list(RightsChange.objects.filter(membership=coach).order_by("happened_at", "pk"))


def test_rights_are_told_for_the_moment_and_a_microsecond_on_either_side(owner: Membership, coach: Membership) -> None:
    before = rights_at(coach, coach.started_at)
    change_rights(by=owner, coach=coach, rights=frozenset({"may_edit_skills"}))
    moment = _of(coach)[-1].happened_at
    assert before == {"may_log", "may_sign_off"}
    assert [rights_at(coach, moment + shift) for shift in (-TICK, 0 * TICK, TICK)] == [
        before,
        {"may_edit_skills"},
        {"may_edit_skills"},
    ]
    assert rights_at(coach, coach.started_at - TICK) == NONE


def test_rights_end_with_the_membership(owner: Membership, coach: Membership) -> None:
    ended_at = end_membership(by=owner, membership=coach).ended_at
    assert ended_at is not None
    moments = (ended_at - TICK, ended_at)
    assert [rights_at(coach, moment) for moment in moments] == [{"may_log", "may_sign_off"}, NONE]


def test_an_owner_has_all_rights_while_the_membership_lasts(owner: Membership) -> None:
    second = make_member(owner.gym, Role.OWNER, "Ines Roth")
    ended_at = end_membership(by=second, membership=owner).ended_at
    assert ended_at is not None
    moments: list[datetime] = [owner.started_at - TICK, owner.started_at, ended_at - TICK, ended_at]
    assert [rights_at(owner, moment) for moment in moments] == [NONE, ALL, ALL, NONE]


def test_who_looks_from_home_never_has_any(athlete_member: Membership, guardian: Membership) -> None:
    assert rights_at(athlete_member, athlete_member.started_at) == NONE
    assert rights_at(guardian, guardian.started_at) == NONE


def test_many_are_told_in_one_query(
    owner: Membership, coach: Membership, coach_two: Membership, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for members in ([owner], [owner, coach, coach_two]):
        with django_assert_num_queries(1):
            found = rights_over_time([member.id for member in members])
        assert {each: held.at(members[-1].started_at) for each, held in found.items()} == {
            member.id: rights_at(member, members[-1].started_at) for member in members
        }


@pytest.mark.django_db
def test_the_columns_say_what_the_last_change_says() -> None:
    owner = found_gym(
        name="Mill Hall",
        time_zone="Europe/Berlin",
        units="metric",
        owner_name="Rosa Falk",
        owner_email="rosa@mill.example",
        password=PASSWORD,
    )
    coaches = [
        join_as_coach(owner, name, had)
        for name, had in (("Nils Aho", ["may_log"]), ("Ines Roth", []), ("Paul Eke", RIGHTS))
    ]
    change_rights(by=owner, coach=coaches[0], rights=frozenset({"may_sign_off"}))
    change_rights(by=owner, coach=coaches[1], rights=frozenset({"may_log"}))
    change_rights(by=owner, coach=coaches[1], rights=frozenset())
    end_membership(by=owner, membership=coaches[2])
    for member in Membership.objects.filter(gym=owner.gym):
        last = _of(member)[-1]
        assert frozenset(last.rights) == held_now(member)
        assert last.sign_off_skills == member.sign_off_skills
        assert last.happened_at == (member.ended_at or last.happened_at)
        assert _of(member)[0].happened_at == member.started_at


def test_the_migration_writes_what_was_held_until_then(gym: Gym, owner: Membership, coach: Membership) -> None:
    """As for a gym from before: memberships without a single change, one of which has ended."""
    made = make_member(gym, Role.COACH, "Nils Aho", rights=("may_log",))
    old = Membership.objects.create(
        gym=gym,
        account=made.account,
        person=made.person,
        role=Role.OWNER,
        ended_at=made.started_at + timedelta(days=1),
    )
    migration = import_module("athletes.migrations.0004_consent_asked_rights_so_far")
    for _ in range(2):  # who has facts already gets no others
        migration.note_rights_so_far(apps, None)
    assert [(change.rights, change.happened_at) for change in _of(old)] == [
        (sorted(RIGHTS), old.started_at),
        ([], old.ended_at),
    ]
    assert [len(_of(member)) for member in (owner, coach, made)] == [1, 1, 1]
