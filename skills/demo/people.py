"""The people of the demo gym, put into the tables as the services leave a gym's own people there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal

from allauth.account.models import EmailAddress

from athletes.core.consents import ADULT, MINOR, who_decides
from athletes.core.rights import RIGHTS
from athletes.core.roster import tidy_name
from athletes.models import (
    Account,
    Athlete,
    BodyMeasure,
    Certificate,
    Consent,
    Guardianship,
    Gym,
    Membership,
    Person,
)
from athletes.services.audit import record_act
from athletes.services.gyms import found_gym
from athletes.services.rights import note_rights
from skills.core.days import moment_of
from skills.demo.calling import put_calling
from skills.demo.cast import (
    ADULT_AGE_YEARS,
    CERTIFICATES,
    CERTIFIED_DAYS_BEFORE,
    COACHES,
    DOMAIN,
    GUARDIAN,
    GYM_NAME,
    GYM_SLUG,
    OWNER,
    WARD,
    WITHOUT_CONSENT_NUMBERS,
    ZONE,
    Coach,
)
from skills.demo.diary import OWN, Diary
from skills.demo.simulation import DemoGym
from skills.demo.timetable import local_us

Role = Membership.Role


@dataclass(frozen=True, slots=True)
class People:
    """The rows of everybody: staff by key, athletes by id, log-ins by athlete's id."""

    owner: Membership
    staff: Mapping[str, Membership]
    athletes: Mapping[str, Athlete]
    logins: Mapping[str, Membership]

    def who(self, key: str, diary: Diary) -> Membership:
        """Return who did something in an athlete's diary."""
        return self.logins[diary.trainee.id] if key == OWN else self.staff[key]


def opened_at(played: DemoGym) -> datetime:
    """Return the moment at which the gym opened its doors."""
    return moment_of(local_us(played.first, time(8, 0)))


def put_people(played: DemoGym, password: str) -> People:
    """Found the gym, and enter staff, athletes with their measures, log-ins and the guardian."""
    owner = found_gym(
        name=GYM_NAME,
        time_zone=ZONE,
        units="metric",
        owner_name=OWNER,
        owner_email=f"owner@{DOMAIN}",
        password=password,
        slug=GYM_SLUG,
        at=opened_at(played),
    )
    EmailAddress.objects.filter(user=owner.account).update(verified=True)
    staff = {coach.key: _put_coach(owner, coach, password, opened_at(played)) for coach in COACHES}
    athletes = _put_athletes(owner.gym, played)
    logins = {
        diary.trainee.id: _put_login(owner, athletes[diary.trainee.id], diary.trainee.role.login, password)
        for diary in played.diaries
        if diary.trainee.role.login
    }
    _put_certificates(owner, staff, played)
    _put_consents(owner, athletes, played)
    put_calling(owner, athletes, played)
    _put_guardian(owner, athletes[played.diaries[WARD - 1].trainee.id], password)
    Gym.objects.filter(pk=owner.gym_id).update(made_at=opened_at(played))
    Membership.objects.filter(gym=owner.gym_id).update(started_at=opened_at(played))
    return People(owner, {"owner": owner, **staff}, athletes, logins)


def _put_account(login: str, password: str) -> Account:
    """Make an account with the password that the demo prints, under an address at which nobody reads mail."""
    account = Account.objects.create_user(f"{login}@{DOMAIN}", password)
    EmailAddress.objects.create(user=account, email=account.email, primary=True, verified=True)
    return account


def _put_member(owner: Membership, role: str, account: Account, full_name: str, **more: object) -> Membership:
    person = Person.objects.create(gym=owner.gym, full_name=full_name, email=account.email)
    return Membership.objects.create(gym=owner.gym, account=account, person=person, role=role, **more)


def _put_coach(owner: Membership, coach: Coach, password: str, at: datetime) -> Membership:
    rights = {right: right in coach.rights for right in RIGHTS}
    member = _put_member(owner, Role.COACH, _put_account(coach.key, password), coach.full_name, **rights)
    note_rights(membership=member, rights=coach.rights, at=at)
    record_act(gym=owner.gym, actor=owner, act="coach_added", about=member.id, content={"rights": coach.rights})
    return member


def _put_login(owner: Membership, athlete: Athlete, login: str, password: str) -> Membership:
    account = _put_account(login, password)
    member = Membership.objects.create(
        gym=owner.gym, account=account, person=athlete.person, role=Role.ATHLETE, athlete=athlete
    )
    record_act(gym=owner.gym, actor=owner, act="login_given", about=member.id, content={"athlete": athlete.id})
    return member


def _put_guardian(owner: Membership, ward: Athlete, password: str) -> None:
    guardian = _put_member(owner, Role.GUARDIAN, _put_account("guardian", password), GUARDIAN)
    link = Guardianship.objects.create(gym=owner.gym, guardian=guardian, athlete=ward)
    content = {"athlete": ward.id, "guardian": guardian.id}
    record_act(gym=owner.gym, actor=owner, act="guardian_added", about=link.id, content=content)


def _put_certificates(owner: Membership, staff: Mapping[str, Membership], played: DemoGym) -> None:
    """Enter what the owner saw on the first day; one of the certificates ends in three weeks, one without end."""
    entered_at, first_on = opened_at(played), played.first - timedelta(days=CERTIFIED_DAYS_BEFORE)
    Certificate.objects.bulk_create(
        Certificate(
            gym=owner.gym,
            membership=staff[coach],
            kind=kind,
            valid_from=first_on,
            valid_until=None if days_left is None else played.until + timedelta(days=days_left),
            entered_by=owner,
            happened_at=entered_at,
            recorded_at=entered_at,
        )
        for coach, kind, days_left in CERTIFICATES
    )


def _put_consents(owner: Membership, athletes: Mapping[str, Athlete], played: DemoGym) -> None:
    """Note that each agreed, or a minor's guardian did, on the day of joining; two have not said anything yet."""
    joined = [
        (athletes[diary.trainee.id], diary.trainee.joined_on, diary.trainee.role.age_years >= ADULT_AGE_YEARS)
        for diary in played.diaries
        if diary.trainee.number not in WITHOUT_CONSENT_NUMBERS
    ]
    Consent.objects.bulk_create(
        Consent(
            gym=owner.gym,
            athlete=athlete,
            kind=kind,
            given=True,
            extent=("full_name" if adult else "initials") if kind == Consent.Kind.BOARD else "",
            said_by=who_decides(kind, ADULT if adult else MINOR),
            entered_by=owner,
            happened_at=moment_of(local_us(joined_on, time(17, 0))),
            recorded_at=moment_of(local_us(joined_on, time(17, 0))),
        )
        for athlete, joined_on, adult in joined
        for kind in Consent.Kind.values
    )


def _put_athletes(gym: Gym, played: DemoGym) -> dict[str, Athlete]:
    trainees = [diary.trainee for diary in played.diaries]
    people = Person.objects.bulk_create(
        Person(gym=gym, full_name=tidy_name(trainee.role.full_name), birth_on=trainee.birth_on) for trainee in trainees
    )
    rows = Athlete.objects.bulk_create(
        Athlete(id=trainee.id, gym=gym, person=person, number=trainee.number, joined_on=trainee.joined_on)
        for trainee, person in zip(trainees, people, strict=True)
    )
    BodyMeasure.objects.bulk_create(
        BodyMeasure(
            gym=gym,
            athlete=athlete,
            measured_on=measured.on,
            stature_m=Decimal(measured.stature_mm) / 1000,
            mass_kg=None if athlete.is_minor(measured.on) else Decimal(measured.mass_dag) / 100,
        )
        for trainee, athlete in zip(trainees, rows, strict=True)
        for measured in trainee.measures
    )
    return {trainee.id: athlete for trainee, athlete in zip(trainees, rows, strict=True)}
