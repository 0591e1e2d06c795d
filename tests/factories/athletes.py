"""Rows of the athletes app, written straight into the tables: plain functions with sensible defaults."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from allauth.account.models import EmailAddress
from django.utils import timezone

from athletes.core.consents import who_decides
from athletes.core.rights import RIGHTS
from athletes.models import (
    Account,
    ApiToken,
    Athlete,
    AuditHead,
    BodyMeasure,
    Caution,
    Certificate,
    Consent,
    Guardianship,
    Gym,
    Membership,
    Person,
)
from athletes.services.rights import note_rights

PASSWORD = "long arms, quiet lats"
ADULT_BIRTH_ON = date(1990, 3, 14)
Role = Membership.Role


def make_gym(*, slug: str = "harbour", name: str = "Harbour Hall", time_zone: str = "Europe/Berlin") -> Gym:
    """A gym with the empty start of its audit chain."""
    gym = Gym.objects.create(slug=slug, name=name, time_zone=time_zone)
    AuditHead.objects.create(gym=gym)
    return gym


def make_account(email: str, *, password: str = PASSWORD, verified: bool = True) -> Account:
    """An account whose address was shown to be its owner's."""
    account = Account.objects.create_user(email, password)
    EmailAddress.objects.create(user=account, email=account.email, primary=True, verified=verified)
    return account


def make_person(gym: Gym, full_name: str, *, birth_on: date | None = ADULT_BIRTH_ON, email: str = "") -> Person:
    return Person.objects.create(gym=gym, full_name=full_name, birth_on=birth_on, email=email)


def make_member(
    gym: Gym,
    role: Membership.Role,
    full_name: str,
    *,
    email: str = "",
    rights: Iterable[str] = (),
    account: Account | None = None,
) -> Membership:
    """A member who can sign in with PASSWORD; the address is made of the name where none is given."""
    address = email or f"{full_name.split(maxsplit=1)[0].lower()}@{gym.slug}.example"
    member = Membership.objects.create(
        gym=gym,
        account=account or make_account(address),
        person=make_person(gym, full_name, email=address),
        role=role,
        **dict.fromkeys(rights, True),
    )
    if member.is_staff_member:
        note_rights(membership=member, rights=RIGHTS if member.is_owner else [*rights], at=member.started_at)
    return member


def make_athlete(gym: Gym, full_name: str, *, birth_on: date | None = ADULT_BIRTH_ON, number: int = 0) -> Athlete:
    """An athlete with the next free number of the gym."""
    person = make_person(gym, full_name, birth_on=birth_on)
    taken = Athlete.objects.filter(gym=gym).order_by("-number").values_list("number", flat=True).first()
    joined_on = date(2025, 1, 7)
    return Athlete.objects.create(gym=gym, person=person, number=number or (taken or 0) + 1, joined_on=joined_on)


def make_login(athlete: Athlete, *, email: str = "") -> Membership:
    """The athlete's own log-in."""
    address = email or f"{athlete.person.full_name.split(maxsplit=1)[0].lower()}@{athlete.gym.slug}.example"
    return Membership.objects.create(
        gym=athlete.gym,
        account=make_account(address),
        person=athlete.person,
        role=Role.ATHLETE,
        athlete=athlete,
    )


def make_guardian(ward: Athlete, full_name: str) -> Membership:
    """A guardian who is linked to that athlete."""
    guardian = make_member(ward.gym, Role.GUARDIAN, full_name)
    Guardianship.objects.create(gym=ward.gym, guardian=guardian, athlete=ward)
    return guardian


def make_measure(athlete: Athlete, *, stature_m: str = "1.720", mass_kg: str = "68.50") -> BodyMeasure:
    return BodyMeasure.objects.create(
        gym=athlete.gym,
        athlete=athlete,
        measured_on=date(2026, 1, 12),
        stature_m=Decimal(stature_m),
        mass_kg=Decimal(mass_kg),
    )


def make_caution(athlete: Athlete, by: Membership, *, loads: Iterable[str] = ("inversion",)) -> Caution:
    """A caution since yesterday, without an end."""
    return Caution.objects.create(
        gym=athlete.gym,
        athlete=athlete,
        entered_by=by,
        loads=sorted(loads),
        happened_at=timezone.now() - timedelta(days=1),
    )


def make_certificate(
    member: Membership,
    *,
    by: Membership,
    kind: str = "coaching",
    valid_from: date = date(2026, 1, 1),
    valid_until: date | None = None,
    gym: Gym | None = None,
    recorded_at: datetime | None = None,
) -> Certificate:
    """A certificate as `by` entered it, now or at another moment."""
    at = recorded_at or timezone.now()
    return Certificate.objects.create(
        gym=gym or member.gym,
        membership=member,
        kind=kind,
        valid_from=valid_from,
        valid_until=valid_until,
        entered_by=by,
        happened_at=at,
        recorded_at=at,
    )


def make_consent(
    athlete: Athlete,
    *,
    by: Membership,
    kind: str = "inversion",
    given: bool = True,
    extent: str = "",
    said_by: str = "",
    at: datetime | None = None,
    recorded_at: datetime | None = None,
    gym: Gym | None = None,
) -> Consent:
    """A consent said by who decides: a guardian for a minor, an adult for themselves."""
    return Consent.objects.create(
        gym=gym or athlete.gym,
        athlete=athlete,
        kind=kind,
        given=given,
        extent=extent,
        said_by=said_by or who_decides(kind, athlete.standing()),
        entered_by=by,
        happened_at=at or timezone.now(),
        recorded_at=recorded_at or at or timezone.now(),
    )


def make_api_token(membership: Membership, digest: str, *, name: str = "door tablet") -> ApiToken:
    return ApiToken.objects.create(gym=membership.gym, membership=membership, name=name, digest=digest)


def years_before_today(years: int) -> date:
    """A birth date that makes somebody exactly that old since a month ago."""
    day = datetime.now(tz=UTC).date() - timedelta(days=30)
    return day.replace(year=day.year - years, day=min(day.day, 28))
