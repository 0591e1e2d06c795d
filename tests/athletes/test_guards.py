"""What the database itself refuses."""

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.utils import timezone

from athletes.models import (
    ApiToken,
    Athlete,
    AuditEntry,
    Caution,
    CautionLift,
    Certificate,
    Consent,
    Erasure,
    ErasureRequest,
    Guardianship,
    Invitation,
    Membership,
    PrivateLink,
    Remark,
    RightsChange,
    Screening,
    SkinNote,
)
from athletes.services.audit import record_act
from athletes.services.coach_codes import set_code
from gymtrack.lib import guards
from tests.factories.athletes import (
    Role,
    make_account,
    make_athlete,
    make_caution,
    make_certificate,
    make_consent,
    make_member,
    make_person,
)
from tests.helpers.floor import CODE, enrolled, held


@pytest.fixture
def elsewhere(other_gym):
    """An athlete of the other gym."""
    return make_athlete(other_gym, "Otto Kim")


def refuse(act, *, match="another gym|violates foreign key"):
    with pytest.raises(IntegrityError, match=match), transaction.atomic():
        act()


def test_an_athlete_cannot_be_another_gyms_person(gym, other_gym):
    person = make_person(other_gym, "Otto Kim")
    refuse(lambda: Athlete.objects.create(gym=gym, person=person, number=9, joined_on=timezone.now().date()))


def test_a_membership_cannot_be_for_another_gyms_athlete(gym, elsewhere):
    account, person = make_account("x@harbour.example"), make_person(gym, "Xenia Holm")
    refuse(
        lambda: Membership.objects.create(gym=gym, account=account, person=person, role=Role.ATHLETE, athlete=elsewhere)
    )


def test_a_guardian_cannot_be_linked_to_another_gyms_minor(gym, guardian, elsewhere):
    refuse(lambda: Guardianship.objects.create(gym=gym, guardian=guardian, athlete=elsewhere))


def test_a_caution_cannot_be_for_another_gyms_athlete(coach, elsewhere):
    caution = Caution(gym=coach.gym, athlete=elsewhere, entered_by=coach, loads=[], happened_at=timezone.now())
    refuse(caution.save)


def test_a_caution_cannot_be_by_another_gyms_coach(athlete, other_coach):
    refuse(lambda: make_caution(athlete, other_coach))


def test_a_certificate_cannot_be_for_another_gyms_coach(coach, other_coach):
    refuse(lambda: make_certificate(other_coach, by=coach, gym=coach.gym))


def test_a_consent_cannot_be_for_another_gyms_athlete(coach, elsewhere):
    refuse(lambda: make_consent(elsewhere, by=coach, gym=coach.gym))


def test_a_key_cannot_act_as_another_gyms_member(gym, other_coach):
    refuse(lambda: ApiToken.objects.create(gym=gym, membership=other_coach, name="x", digest="x"))


def test_a_row_cannot_be_pointed_into_another_gym_later(athlete, elsewhere):
    other = make_person(elsewhere.gym, "Pia Roy")
    refuse(lambda: Athlete.objects.filter(pk=athlete.pk).update(person=other))


@pytest.fixture
def rows_of(gym, coach, guardian, athlete):
    """One row of a table, as a query: `rows_of(Caution)`."""

    def one(model: type[models.Model]) -> models.QuerySet:
        makers = {
            "ApiToken": lambda: ApiToken.objects.create(gym=gym, membership=coach, name="x", digest="x"),
            "AuditEntry": lambda: record_act(gym=gym, actor=coach, act="counted", about=gym.id, content={}),
            "BodyMeasure": lambda: athlete.measures.create(gym=gym, measured_on=athlete.joined_on),
            "Caution": lambda: make_caution(athlete, coach),
            "Certificate": lambda: make_certificate(coach, by=coach),
            "Consent": lambda: make_consent(athlete, by=coach),
            "CautionLift": lambda: make_lift(make_caution(athlete, coach)),
            "Tablet": lambda: enrolled(make_member(gym, Role.OWNER, "Odo Falk")),
            "CoachCode": lambda: set_code(by=coach, code=CODE),
            "HandOver": lambda: held(enrolled(make_member(gym, Role.OWNER, "Odo Falk")), coach),
            "EmergencyContact": lambda: athlete.emergency_contacts.create(
                gym=gym, name="x", phone="x", entered_by=coach, entered_at=timezone.now()
            ),
            "Erasure": lambda: Erasure.objects.create(
                gym=gym, subject=uuid.uuid4(), done_by=coach, happened_at=timezone.now()
            ),
            "ErasureRequest": lambda: ErasureRequest.objects.create(
                gym=gym, person=athlete.person, asked_by=guardian, asked_at=timezone.now()
            ),
            "Invitation": lambda: Invitation.objects.create(role=Role.COACH, person=coach.person, **for_an_hour(coach)),
            "PrivateLink": lambda: PrivateLink.objects.create(athlete=athlete, **for_an_hour(coach)),
            "Screening": lambda: athlete.screenings.create(
                gym=gym, done_on=athlete.joined_on, entered_by=coach, happened_at=timezone.now()
            ),
            "SkinNote": lambda: athlete.skin_notes.create(
                gym=gym, until_on=athlete.joined_on, entered_by=coach, happened_at=timezone.now()
            ),
            "Remark": lambda: Remark.objects.create(
                gym=gym, subject=athlete.person, about=uuid.uuid4(), text="x", salt="x"
            ),
        }
        if model.__name__ in makers:
            makers[model.__name__]()
        row = model._default_manager.filter(gym=gym).first()
        assert row is not None, f"no {model.__name__} to try it with"
        return model._default_manager.filter(pk=row.pk)

    return one


MODELS = [model for model in guards.gym_models() if model._meta.app_label == "athletes"]


@pytest.mark.parametrize("model", MODELS)
def test_a_row_never_changes_its_gym(model, gym, other_gym, rows_of):
    rows = rows_of(model)
    refuse(lambda: rows.update(gym=other_gym), match="keeps its gym|append-only|another gym|foreign key")
    assert rows.get().gym_id == gym.id


def make_lift(caution: Caution) -> CautionLift:
    return CautionLift.objects.create(
        gym=caution.gym, caution=caution, lifted_by=caution.entered_by, happened_at=timezone.now()
    )


def for_an_hour(coach: Membership) -> dict[str, object]:
    now = timezone.now()
    return {
        "gym": coach.gym,
        "digest": uuid.uuid4().hex,
        "made_by": coach,
        "made_at": now,
        "until_at": now + timedelta(hours=1),
    }


APPEND_ONLY = [
    AuditEntry,
    Caution,
    CautionLift,
    Certificate,
    Consent,
    Erasure,
    RightsChange,
    Screening,
    SkinNote,
]


def test_these_tables_say_that_they_are_append_only():
    named = {
        model
        for model in guards.gym_models()
        if getattr(model, "append_only", False) and model._meta.app_label == "athletes"
    }
    assert named == set(APPEND_ONLY)


@pytest.mark.parametrize("model", APPEND_ONLY)
def test_an_append_only_table_takes_no_change_and_no_delete(model, rows_of):
    rows = rows_of(model)
    before = rows.values().get()
    refuse(lambda: rows.update(recorded_at=timezone.now()), match="append-only")
    refuse(lambda: rows._raw_delete(rows.db), match="append-only")
    assert rows.values().get() == before


def _raw(sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql)


@pytest.mark.sqlite_only
@pytest.mark.parametrize("model", APPEND_ONLY)
def test_a_row_cannot_be_replaced_by_another_with_its_key(model, rows_of):
    rows = rows_of(model)
    table = model._meta.db_table
    replace = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"  # noqa: S608 (names of our models)
    refuse(lambda: _raw(replace), match="append-only")
    assert rows.exists()


@pytest.mark.postgresql_only
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("model", APPEND_ONLY)
def test_an_append_only_table_cannot_be_truncated(model):
    refuse(lambda: _raw(f"TRUNCATE {model._meta.db_table} CASCADE"), match="append-only")


def test_every_guard_stands(db):
    expected = {guard.name for guard in guards.expected_guards(connection.vendor)}
    assert expected <= guards.standing_guards(connection)
    assert guards.guards_stand(databases=["default"]) == []


@pytest.mark.sqlite_only
def test_the_check_names_a_guard_that_is_missing(db):
    _raw("DROP TRIGGER athletes_caution__no_delete")
    (problem,) = guards.guards_stand(databases=["default"])
    assert problem.id == "gymtrack.E001"
    assert "athletes_caution__no_delete" in problem.msg
    guards.install(connection)
    assert guards.guards_stand(databases=["default"]) == []
