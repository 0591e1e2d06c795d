"""The played gym in the tables: what is stored is whole, and the same every time."""

import json
from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from athletes.core.consents import WORDS, lacking
from athletes.core.phones import tidy_phone
from athletes.core.rights import RIGHTS
from athletes.models import (
    Account,
    Athlete,
    AuditEntry,
    BodyMeasure,
    Caution,
    EmergencyContact,
    Gym,
    Membership,
    Remark,
    Screening,
)
from athletes.queries.certificates import certificates_to_renew
from athletes.queries.consents import consents_at
from athletes.queries.gyms import athlete_ids
from athletes.queries.rights import rights_over_time
from athletes.queries.screenings import screening_of
from athletes.services.audit import first_broken_link
from athletes.services.remarks import commitment
from gymtrack.lib.guards import gym_models
from skills.core.days import moment_of, moment_us
from skills.core.readiness import openings_due
from skills.core.rotation.checking import broken_rules
from skills.demo.canonical import canonical_dump
from skills.demo.cast import WARD
from skills.demo.simulation import simulate
from skills.demo.truth import truth_json
from skills.models import Attempt, AttemptVoid, Bar, BarCheck, CriterionVersion, SignOff, Step, TrainingSession
from skills.queries.boards import board_of, rechecks_due, running_sessions
from skills.queries.books import book_of
from skills.queries.histories import histories_of
from skills.queries.standings import sign_off_queue
from skills.queries.timelines import kept_timelines
from skills.services.readiness import rebuild_athlete
from tests.factories.class_plans import plans_of
from tests.skills.demo.conftest import PASSWORD, UNTIL, filled

NOON = datetime(UNTIL.year, UNTIL.month, UNTIL.day, 12, tzinfo=UTC)
Role = Membership.Role


def test_rows_are_as_many_as_were_played(demo_gym, played):
    tries = sum(len(diary.tries) for diary in played.diaries)
    assert Attempt.objects.filter(gym=demo_gym).count() == tries
    assert tries > 5000
    assert Athlete.objects.filter(gym=demo_gym, left_on=None).count() == 40
    assert sum(athlete.is_minor(UNTIL) for athlete in Athlete.objects.filter(gym=demo_gym)) == 6
    assert TrainingSession.objects.filter(gym=demo_gym).count() == len(played.sessions) + 1


def test_roles_have_log_ins_that_work(demo_gym):
    roles = Counter(Membership.objects.filter(gym=demo_gym).values_list("role", flat=True))
    assert roles == {Role.OWNER: 1, Role.COACH: 3, Role.ATHLETE: 4, Role.GUARDIAN: 1}
    accounts = Account.objects.filter(memberships__gym=demo_gym)
    assert all(account.check_password(PASSWORD) for account in accounts)
    assert {account.email.partition("@")[2] for account in accounts} == {"demo.example"}


def test_guardian_is_that_of_a_minor(demo_gym):
    (guardian,) = Membership.objects.filter(gym=demo_gym, role=Role.GUARDIAN)
    (ward,) = [link.athlete for link in guardian.wards.all()]
    assert (ward.number, ward.is_minor(UNTIL)) == (WARD, True)


def test_somebody_can_be_called_for_some_and_some_were_screened(demo_gym):
    contacts = EmergencyContact.objects.filter(gym=demo_gym).select_related("athlete__person")
    minors = {contact.athlete.number for contact in contacts if contact.athlete.is_minor(UNTIL)}
    assert (len(contacts), minors) == (7, {2, 9, 15, 20})
    assert all(tidy_phone(contact.phone) == contact.phone for contact in contacts)
    assert {contact.phone[:14] for contact in contacts} == {"+44 7700 90010", "+44 7700 90011", "+44 7700 90012"}
    athletes = Athlete.objects.filter(gym=demo_gym, left_on=None)
    lines = {athlete.number: screening_of(athlete) for athlete in athletes}
    assert {number for number, line in lines.items() if line is None} == {35, 40}
    assert {number for number, line in lines.items() if line and not line.counts_on(UNTIL)} == {13}
    assert Screening.objects.filter(gym=demo_gym, expires_on=None).count() == 1


def test_rules_in_the_tables_are_those_that_were_played(demo_gym, played):
    assert book_of(demo_gym).rules == played.syllabus.rules


def test_kept_timelines_equal_a_rebuild_and_nothing_is_due_to_open(demo_gym):
    book, athletes = book_of(demo_gym), list(Athlete.objects.filter(gym=demo_gym))
    histories = histories_of(book, [athlete.id for athlete in athletes])
    kept = kept_timelines(book, [athlete.id for athlete in athletes])
    for athlete in athletes:
        assert rebuild_athlete(book=book, athlete=athlete, now=NOON, store=False) == ()
        all_kept = {code: kept[athlete.id][code] for code in book.rules.order}
        assert openings_due(book.rules, all_kept, histories[athlete.id], moment_us(NOON)) == ()


def test_audit_chain_is_whole_and_says_what_was_filled_in(demo_gym):
    assert first_broken_link(demo_gym) is None
    last = AuditEntry.objects.filter(gym=demo_gym).last()
    assert last is not None
    content = json.loads(last.content)
    assert (last.act, content["seed"], content["until"]) == ("demo_filled", 1, str(UNTIL))
    assert content["attempt"] == Attempt.objects.filter(gym=demo_gym).count()


def test_a_mis_tapped_attempt_was_voided_with_its_reason(demo_gym):
    void = AttemptVoid.objects.filter(gym=demo_gym).select_related("attempt").first()
    assert void is not None
    remark = Remark.objects.get(about=void.attempt_id)
    assert remark.text == "Tapped the wrong tile."
    assert void.remark_commitment == commitment(remark.salt, remark.text)


def test_refusals_have_reasons_and_the_commitments_hold(demo_gym):
    refused = SignOff.objects.filter(gym=demo_gym).exclude(decision=SignOff.Decision.PASSED)
    assert {row.decision for row in refused} == {"not_yet", "revoked"}
    for row in refused:
        remark = Remark.objects.get(about=row.id)
        assert row.remark_commitment == commitment(remark.salt, remark.text)
        assert remark.subject == row.athlete.person


def test_one_caution_holds_today(demo_gym):
    active = Caution.objects.filter(gym=demo_gym, happened_at__lte=NOON).exclude(lifts__happened_at__lte=NOON)
    assert active.count() == 1
    assert Caution.objects.filter(gym=demo_gym).count() == 3


def test_all_but_an_adult_and_a_minor_agreed_and_a_certificate_ends_within_a_month(demo_gym, played):
    said = consents_at(athlete_ids(demo_gym), moment_of(played.running.starts_us))
    athletes = Athlete.objects.filter(gym=demo_gym).select_related("person", "gym")
    without = [a for a in athletes if lacking(WORDS, said[a.id], a.standing(played.until))]
    assert sorted(a.is_minor(played.until) for a in without) == [False, True]
    assert demo_gym.asks_consent
    assert [line.kind for _, line in certificates_to_renew(demo_gym, played.until)] == ["first_aid"]


def test_staff_hold_the_rights_of_their_columns_since_the_doors_opened(demo_gym, played):
    staff = Membership.objects.filter(gym=demo_gym, role__in=("owner", "coach"))
    held = rights_over_time([member.id for member in staff])
    for member in staff:
        columns = RIGHTS if member.is_owner else [right for right in RIGHTS if getattr(member, right)]
        assert held[member.id].moments == (member.started_at,)
        assert held[member.id].at(member.started_at) == frozenset(columns)


def test_the_rig_is_described_and_some_heights_are_measured(demo_gym):
    bars = Bar.objects.filter(gym=demo_gym)
    assert [(bar.kind, bool(bar.holes)) for bar in bars] == [("pull_up", False), ("pull_up", False), ("tied", True)]
    assert {check.of for check in BarCheck.objects.filter(gym=demo_gym)} == {bars[2]}
    measured = BodyMeasure.objects.filter(gym=demo_gym).exclude(chest_m=None)
    assert measured.count() == 5
    rows = measured.values_list("chest_m", "armpit_m", "reach_m")
    assert all(chest < armpit < reach for chest, armpit, reach in rows if chest and armpit and reach)


def test_the_class_of_today_has_a_plan_with_its_reasons(demo_gym):
    (session,) = TrainingSession.objects.filter(gym=demo_gym, ended_at=None)
    (kept,) = plans_of(session).plans
    assert not broken_rules(kept.ask, kept.plan)
    assert kept.plan.proof in {"optimal", "within"}
    assert len(kept.ask.stations) == 6
    assert len(kept.plan.seats) == 4 * len(kept.ask.people)
    assert any(post.task == "spots" for post in kept.plan.posts)


def test_low_bar_checks_carry_a_name(demo_gym):
    checks = BarCheck.objects.filter(gym=demo_gym)
    assert checks.count() > 20
    assert {check.checked_by.role for check in checks} == {Role.COACH}


def test_full_standard_is_adopted_by_the_owner(demo_gym):
    (version,) = CriterionVersion.objects.filter(gym=demo_gym, number=2)
    assert version.adopted_by is not None
    assert version.adopted_by.is_owner
    assert timedelta(days=29) < NOON - version.happened_at < timedelta(days=31)


def test_pages_find_a_running_class_a_queue_and_rechecks(demo_gym):
    book = book_of(demo_gym)
    (running,) = running_sessions(demo_gym)
    assert len(board_of(book, running, NOON)) == 8
    assert sign_off_queue(book, demo_gym, NOON)
    assert rechecks_due(book, demo_gym, NOON)


@pytest.mark.parametrize("name", ["owner", "coach", "athlete", "guardian"])
def test_every_role_gets_its_first_page(demo_gym, name):
    client = Client()
    client.force_login(Account.objects.get(email=f"{name}@demo.example"))
    assert client.get("/", follow=True).status_code == 200


def test_every_table_of_a_gym_is_in_the_dump_but_keys_to_the_api(demo_gym):
    dump = json.loads(canonical_dump(demo_gym))
    labels = {model._meta.label for model in gym_models()} | {"athletes.AuditHead"}
    assert {*dump} | {"athletes.ApiToken"} == labels | {Gym._meta.label}
    assert len(dump["skills.Attempt"]) == Attempt.objects.filter(gym=demo_gym).count()


def test_dump_has_no_password_no_address_of_an_account_and_no_seal(demo_gym):
    text = canonical_dump(demo_gym).decode()
    entry = AuditEntry.objects.filter(gym=demo_gym).first()
    assert entry is not None
    for secret in (PASSWORD, Account.objects.get(email="owner@demo.example").password, entry.seal):
        assert secret not in text


def test_truth_tells_the_latent_parameters_of_all_athletes_and_the_demand_of_all_steps(demo_gym, played):
    truth = json.loads(truth_json(played))
    ids = {str(pk) for pk in Athlete.objects.filter(gym=demo_gym).values_list("pk", flat=True)}
    assert {*truth["athletes"]} == ids
    assert {*truth["demands"]} == {*Step.objects.filter(gym=demo_gym).values_list("code", flat=True)}
    one = truth["athletes"][played.diaries[0].trainee.id]
    assert {"start", "gain", "spread", "care", "plateaus", "gaps", "strengths"} <= {*one}
    assert len(one["strengths"]) == len(played.diaries[0].present)


@pytest.mark.django_db
def test_two_fills_of_one_seed_and_day_are_the_same_bytes_and_another_seed_or_day_is_not():
    dumps = []
    for seed, until in ((1, UNTIL), (1, UNTIL), (2, UNTIL), (1, UNTIL - timedelta(days=1))):
        with filled(simulate(seed=seed, until=until, days=21)) as gym:
            dumps.append(canonical_dump(Gym.objects.get(pk=gym.pk)))
    assert dumps[0] == dumps[1]
    assert len({*dumps}) == 3
    assert len(json.loads(dumps[0])["skills.Attempt"]) > 300
