"""The right to sign off may be for some skills alone: at gates, at steps that are not open, and told for the past."""

from collections.abc import Collection
from datetime import timedelta

import pytest
from django.utils import timezone
from pytest_django.fixtures import DjangoAssertNumQueries

from athletes.access.certificates import signers_of, signs, why_not_signing
from athletes.access.rules import holds
from athletes.models import Athlete, AuditEntry, Gym, Membership
from athletes.queries.rights import rights_over_time
from athletes.services.rights import NoSkillChosen, UnknownSkill
from athletes.services.staff import change_rights
from skills.models import SignOff, Skill
from skills.services.attempts import AttemptRefusedError
from skills.services.cautions import enter_caution, lift_caution
from skills.services.sign_offs import SignOffRefusedError
from tests.factories.athletes import make_certificate
from tests.factories.skills import decide, library, log, pass_step, step_of

PULLOVER, HANDSTAND = "bar-pullover", "wall-handstand"
RIGHTS = frozenset({"may_log", "may_sign_off"})
NOT_THIS = "You may not sign off steps of this skill in this gym; the right that you hold is for: Wall handstand."


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def give(owner: Membership, coach: Membership, skills: Collection[str] | None) -> Membership:
    """Give the right for these skills, and return the membership as the next request finds it."""
    change_rights(by=owner, coach=coach, rights=RIGHTS, sign_off_skills=skills)
    return Membership.objects.select_related("gym").get(pk=coach.pk)


def test_the_right_for_one_skill_opens_its_gates_and_no_others(
    owner: Membership, coach: Membership, athlete: Athlete
) -> None:
    pass_step(coach, athlete, "pullover-3")
    limited = give(owner, coach, [HANDSTAND])
    with pytest.raises(SignOffRefusedError) as refused:
        decide(limited, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert [(each.field, each.sentence) for each in refused.value.mistakes] == [("decision", NOT_THIS)]
    allowed = give(owner, coach, [PULLOVER])
    assert decide(allowed, athlete, "pullover-3a", "entrance", clearance="spotted").signed_by == coach


def test_a_revocation_asks_for_the_same_right(owner: Membership, coach: Membership, athlete: Athlete) -> None:
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    before = SignOff.objects.count()
    with pytest.raises(SignOffRefusedError, match="steps of this skill"):
        decide(
            give(owner, coach, [HANDSTAND]), athlete, "pullover-3a", "entrance", decision="revoked", reason="not here"
        )
    assert SignOff.objects.count() == before


def test_a_try_at_a_closed_step_asks_for_the_right_for_its_skill(
    owner: Membership, coach: Membership, athlete: Athlete
) -> None:
    with pytest.raises(AttemptRefusedError, match="Only a coach who may sign off"):
        log(give(owner, coach, [HANDSTAND]), athlete, "pullover-4", closed_reason="shown once")
    assert log(give(owner, coach, [PULLOVER]), athlete, "pullover-4", closed_reason="shown once").closed_try


def test_a_caution_is_lifted_with_the_right_for_any_skill(
    owner: Membership, coach: Membership, athlete: Athlete
) -> None:
    limited = give(owner, coach, [HANDSTAND])
    caution = enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason="palm"
    )
    assert holds(limited, "may_sign_off")
    lift_caution(by=limited, caution=caution)


def test_every_skill_means_those_that_come_later_too(owner: Membership, coach: Membership) -> None:
    everything = give(owner, coach, None)
    assert everything.sign_off_skills is None
    assert signs(everything, PULLOVER)
    assert signs(everything, "taught-from-next-year-on")
    assert signs(owner, PULLOVER)
    assert not signs(give(owner, coach, [PULLOVER]), "taught-from-next-year-on")


def test_a_renamed_skill_keeps_its_right(owner: Membership, coach: Membership) -> None:
    limited = give(owner, coach, [HANDSTAND])
    Skill.objects.filter(gym=owner.gym, slug=HANDSTAND).update(name="Handstand at the wall")
    assert signs(limited, HANDSTAND)
    assert "for: Handstand at the wall." in why_not_signing(limited, timezone.now(), PULLOVER)


def test_a_right_for_a_skill_that_there_is_not_is_refused(owner: Membership, coach: Membership, other_gym: Gym) -> None:
    Skill.objects.create(gym=other_gym, slug="front-lever", name="Front lever", purpose="Theirs.")
    for slug in ("front-lever", "", "Bar pullover"):
        with pytest.raises(UnknownSkill, match="teaches no skill"):
            give(owner, coach, [PULLOVER, slug])
    with pytest.raises(NoSkillChosen):
        give(owner, coach, [])
    coach.refresh_from_db()
    assert coach.sign_off_skills is None
    assert not AuditEntry.objects.filter(act="rights_changed").exists()


def test_without_the_right_there_is_nothing_to_limit(owner: Membership, coach: Membership) -> None:
    change_rights(by=owner, coach=coach, rights=frozenset({"may_log"}), sign_off_skills=[])
    coach.refresh_from_db()
    assert (coach.may_sign_off, coach.sign_off_skills) == (False, None)


def test_history_and_audit_say_for_which_skills(owner: Membership, coach: Membership) -> None:
    give(owner, coach, [PULLOVER])
    limited = AuditEntry.objects.get(act="rights_changed")
    assert limited.content == '{"rights":["may_log","may_sign_off"],"sign_off_skills":["bar-pullover"]}'
    give(owner, coach, None)
    change_rights(by=owner, coach=coach, rights=frozenset({"may_log"}))
    held = rights_over_time([coach.id])[coach.id]
    tick = timedelta(microseconds=1)
    told = [held.skills_at(moment + shift) for moment in held.moments for shift in (-tick, 0 * tick)]
    none: frozenset[str] = frozenset()
    assert told == [none, None, None, {PULLOVER}, {PULLOVER}, None, None, none]


def test_who_may_sign_is_told_for_each_skill(owner: Membership, coach: Membership, coach_two: Membership) -> None:
    give(owner, coach, [PULLOVER])
    now = timezone.now()
    found = signers_of(owner.gym, [PULLOVER, HANDSTAND], now)
    assert {slug: [*members] for slug, members in found.items()} == {PULLOVER: [owner, coach], HANDSTAND: [owner]}
    assert coach_two not in found[PULLOVER]
    lapsed_on = now.astimezone(owner.gym.zone).date() - timedelta(days=1)
    make_certificate(coach, by=owner, kind="safeguarding", valid_until=lapsed_on)
    assert [*signers_of(owner.gym, [PULLOVER], now)[PULLOVER]] == [owner]


def test_who_may_sign_many_skills_costs_as_much_as_one(
    owner: Membership, coach: Membership, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for slugs in ([PULLOVER], [PULLOVER, HANDSTAND]):
        with django_assert_num_queries(2):
            assert signers_of(owner.gym, slugs, timezone.now())[PULLOVER] == [owner, coach]


def test_the_steps_of_a_skill_share_its_slug(gym: Gym) -> None:
    assert step_of(gym, "pullover-3a").skill.slug == PULLOVER
