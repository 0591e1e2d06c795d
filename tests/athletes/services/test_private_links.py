"""Private links: who makes them, until when they open, and what ends them."""

from contextlib import suppress
from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from athletes.access.links import in_force
from athletes.models import AuditEntry, Guardianship, PrivateLink
from athletes.services.audit import first_broken_link
from athletes.services.consents import record_consent
from athletes.services.links import end_guardianship
from athletes.services.private_links import (
    MOST_LINKS,
    NoConsent,
    NotTheirs,
    TooManyLinks,
    link_of_token,
    make_link,
    open_link,
    revoke_link,
    revoke_links,
    token_digest,
)
from athletes.services.staff import change_rights, end_membership
from tests.factories.athletes import make_athlete, make_consent, years_before_today
from tests.helpers.threads import at_once


def test_only_the_digest_of_a_token_is_kept(coach, athlete):
    made = make_link(by=coach, athlete=athlete)
    stored = PrivateLink.objects.get()
    assert stored.digest == token_digest(made.token)
    assert len(made.token) >= 43
    assert made.token not in str(PrivateLink.objects.values().get())
    assert made.token not in AuditEntry.objects.get().content
    assert make_link(by=coach, athlete=athlete).token != made.token


@pytest.mark.parametrize("who", ["owner", "coach", "coach_two", "athlete_member"])
def test_staff_who_may_log_and_the_athlete_make_links(request, athlete, who):
    by = request.getfixturevalue(who)
    assert make_link(by=by, athlete=athlete).link.made_by == by


def test_a_guardian_makes_links_for_a_ward_with_consent(guardian, minor):
    make_consent(minor, by=guardian, kind="link")
    assert make_link(by=guardian, athlete=minor).link.athlete == minor


@pytest.mark.parametrize("who", ["reader", "other_coach", "guardian"])
def test_nobody_else_does(request, athlete, who):
    with pytest.raises(NotTheirs):
        make_link(by=request.getfixturevalue(who), athlete=athlete)
    assert not PrivateLink.objects.exists()


def test_another_athlete_does_not(athlete_member, gym):
    with pytest.raises(NotTheirs):
        make_link(by=athlete_member, athlete=make_athlete(gym, "Bo Li"))


def test_a_minor_has_no_link_without_consent(coach, guardian, minor):
    for by in (coach, guardian):
        with pytest.raises(NoConsent):
            make_link(by=by, athlete=minor)
    make_consent(minor, by=guardian, kind="link")
    assert make_link(by=coach, athlete=minor).token


def test_an_athlete_without_a_birth_date_counts_as_a_minor(coach, gym):
    with pytest.raises(NoConsent):
        make_link(by=coach, athlete=make_athlete(gym, "Bo Li", birth_on=None))


def test_below_the_age_for_it_the_word_of_the_minor_is_not_enough(coach, minor):
    make_consent(minor, by=coach, kind="link", said_by="athlete")
    with pytest.raises(NoConsent):
        make_link(by=coach, athlete=minor)


def test_from_the_age_for_it_a_minor_decides_themselves(coach, gym):
    youth = make_athlete(gym, "Bo Li", birth_on=years_before_today(16))
    with pytest.raises(NoConsent):
        make_link(by=coach, athlete=youth)
    make_consent(youth, by=coach, kind="link", said_by="athlete")
    assert make_link(by=coach, athlete=youth).token


def test_an_adult_who_said_no_has_none(coach, athlete):
    make_consent(athlete, by=coach, kind="link", given=False)
    with pytest.raises(NoConsent):
        make_link(by=coach, athlete=athlete)


def test_so_many_are_in_force_and_no_more(coach, athlete):
    links = [make_link(by=coach, athlete=athlete).link for _ in range(MOST_LINKS)]
    with pytest.raises(TooManyLinks):
        make_link(by=coach, athlete=athlete)
    revoke_link(by=coach, link=links[0])
    assert make_link(by=coach, athlete=athlete).token


def test_a_link_opens_until_it_runs_out(coach, athlete, settings):
    settings.PRIVATE_LINK_DAYS = 3
    made = make_link(by=coach, athlete=athlete)
    last = made.link.made_at + timedelta(days=3)
    with time_machine.travel(last - timedelta(seconds=1), tick=False):
        link = open_link(token=made.token)
        assert link == made.link
        assert PrivateLink.objects.get().opened_at == timezone.now()
    with time_machine.travel(last, tick=False):
        assert open_link(token=made.token) is None


def test_what_never_was_ran_out_or_was_taken_back_is_asked_for_alike(
    coach, athlete, settings, django_assert_num_queries
):
    taken_back = make_link(by=coach, athlete=athlete)
    revoke_link(by=coach, link=taken_back.link)
    ran_out = make_link(by=coach, athlete=athlete)
    now = timezone.now()
    PrivateLink.objects.filter(pk=ran_out.link.pk).update(made_at=now - timedelta(days=9), until_at=now)
    for token in (taken_back.token, ran_out.token, "A" * 43, "", "ü"):
        with django_assert_num_queries(1):
            assert link_of_token(token) is None


def test_a_link_is_taken_back_once(coach, athlete):
    made = make_link(by=coach, athlete=athlete)
    assert revoke_link(by=coach, link=made.link) is True
    assert revoke_link(by=coach, link=made.link) is False
    assert [entry.act for entry in AuditEntry.objects.all()] == ["link_made", "link_revoked"]
    assert open_link(token=made.token) is None


def test_another_gyms_link_cannot_be_taken_back(coach, other_coach, athlete):
    made = make_link(by=coach, athlete=athlete)
    assert revoke_link(by=other_coach, link=made.link) is False
    assert open_link(token=made.token) == made.link


def test_all_links_of_one_are_taken_back_and_nobody_elses(coach, athlete, gym):
    other = make_link(by=coach, athlete=make_athlete(gym, "Bo Li"))
    for _ in range(2):
        make_link(by=coach, athlete=athlete)
    assert revoke_links(athlete=athlete, by=coach) == 2
    assert revoke_links(athlete=athlete, by=None) == 0
    assert not in_force(athlete, timezone.now()).exists()
    assert open_link(token=other.token) == other.link
    assert first_broken_link(gym) is None


def test_a_link_opens_nothing_once_consent_is_withdrawn(coach, guardian, minor):
    make_consent(minor, by=guardian, kind="link")
    made = make_link(by=guardian, athlete=minor)
    make_consent(minor, by=guardian, kind="link", given=False)
    assert open_link(token=made.token) is None


def test_withdrawn_consent_takes_the_links_back_for_good(coach, guardian, minor):
    record_consent(by=guardian, athlete=minor, kind="link", given=True)
    made = make_link(by=guardian, athlete=minor)
    record_consent(by=guardian, athlete=minor, kind="link", given=False)
    record_consent(by=guardian, athlete=minor, kind="link", given=True)
    assert open_link(token=made.token) is None
    assert PrivateLink.objects.get().revoked_at


@pytest.mark.django_db(transaction=True)
def test_so_many_are_in_force_when_all_are_made_at_once(coach, athlete):
    def make() -> bool:
        try:
            return bool(make_link(by=coach, athlete=athlete).token)
        except TooManyLinks:
            return False

    assert sorted(at_once([make] * (MOST_LINKS + 3))) == [False] * 3 + [True] * MOST_LINKS


@pytest.mark.django_db(transaction=True)
def test_no_link_outlives_consent_that_is_withdrawn_at_the_same_instant(coach, athlete):
    def make() -> None:
        with suppress(NoConsent):
            make_link(by=coach, athlete=athlete)

    def withdraw() -> None:
        record_consent(by=coach, athlete=athlete, kind="link", given=False)

    at_once([make, withdraw, make])
    assert not in_force(athlete, timezone.now()).exists()


def test_a_link_to_who_was_erased_opens_nothing(coach, athlete):
    made = make_link(by=coach, athlete=athlete)
    athlete.person.erased_at = timezone.now()
    athlete.person.save()
    assert open_link(token=made.token) is None


@pytest.mark.parametrize("way", ["ended", "right taken away"])
def test_a_link_ends_with_the_access_of_who_made_it(owner, coach, coach_two, athlete, way):
    made, other = make_link(by=coach, athlete=athlete), make_link(by=coach_two, athlete=athlete)
    if way == "ended":
        end_membership(by=owner, membership=coach)
    else:
        change_rights(by=owner, coach=coach, rights=frozenset({"may_sign_off"}))
    assert link_of_token(made.token) is None
    assert link_of_token(other.token) == other.link


def test_a_guardians_link_ends_with_the_guardianship(coach, guardian, minor, gym):
    sister = make_athlete(gym, "Ida Okafor", birth_on=years_before_today(12))
    Guardianship.objects.create(gym=gym, guardian=guardian, athlete=sister)
    for ward in (minor, sister):
        make_consent(ward, by=guardian, kind="link")
    made, kept = make_link(by=guardian, athlete=minor), make_link(by=guardian, athlete=sister)
    end_guardianship(by=coach, guardianship=guardian.wards.get(athlete=minor))
    assert link_of_token(made.token) is None
    assert link_of_token(kept.token) == kept.link


def test_a_guardians_link_opens_nothing_once_the_ward_is_of_age(guardian, minor):
    make_consent(minor, by=guardian, kind="link")
    made = make_link(by=guardian, athlete=minor)
    minor.person.birth_on = years_before_today(18)
    minor.person.save()
    assert link_of_token(made.token) is None
