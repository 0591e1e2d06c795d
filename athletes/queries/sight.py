"""Who can see an athlete's record, and as what: read off what is in force at that moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from athletes.core.consent_words import stands_words
from athletes.core.consents import WORDS, agreed, extent_of, shown_name
from athletes.models import ApiToken, Athlete, Guardianship, Gym, Membership, PrivateLink, Tablet
from athletes.queries.consents import consents_at


@dataclass(frozen=True, slots=True)
class Onlooker:
    """Somebody who can see the record: by what name, in which role, and what else they may do with it."""

    name: str
    role: str
    may: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sight:
    """Everybody and everything that can see an athlete's record, and how the athlete stands in others' sight.

    `board` is what everybody in a class reads beside the number, "" where the number stands alone; `in_reports` says
    whether the owner's reports name them; `consents` are the kinds in words, with how each stands.
    """

    staff: tuple[Onlooker, ...]
    guardians: tuple[Onlooker, ...]
    has_login: bool
    links: tuple[PrivateLink, ...]
    keys: tuple[ApiToken, ...]
    tablets: tuple[Tablet, ...]
    board: str
    in_reports: bool
    consents: tuple[tuple[str, str], ...]

    @property
    def owners(self) -> tuple[Onlooker, ...]:
        """The owners, who can do everything with it."""
        return tuple(each for each in self.staff if each.role == Membership.Role.OWNER)


# What a right lets its holder do with a record that all of the staff may read.
_RIGHTS = (
    ("may_log", "write down attempts, cautions and consents"),
    ("may_sign_off", "decide who may try a step"),
    ("may_read_reports", "read and export the month"),
)


def sight_of(athlete: Athlete, now: datetime) -> Sight:
    """Return who can see an athlete's record at a moment, in seven queries however many they are."""
    gym, standing = athlete.gym, athlete.standing(now.astimezone(athlete.gym.zone).date())
    said = consents_at([athlete.id], now)[athlete.id]
    shown = extent_of(said, standing)
    guardians = tuple(_guardians(athlete)) if not standing.of_age else ()
    links = PrivateLink.objects.filter(gym=gym, athlete=athlete, revoked_at=None, until_at__gt=now)
    return Sight(
        staff=tuple(_onlooker(member, gym) for member in _staff(gym)),
        guardians=guardians,
        has_login=Membership.objects.filter(athlete=athlete, role=Membership.Role.ATHLETE, ended_at=None).exists(),
        links=tuple(links.select_related("made_by__person").order_by("-made_at")),
        keys=tuple(_keys(gym)),
        tablets=tuple(_tablets(gym)),
        board=shown_name(athlete.person.full_name, shown),
        in_reports=agreed("reports", said, standing),
        consents=tuple((words, stands_words(said.get(kind), kind, standing, shown)) for kind, words in WORDS.items()),
    )


def _staff(gym: Gym) -> QuerySet[Membership]:
    staff = Membership.objects.filter(gym=gym, role__in=("owner", "coach"), ended_at=None)
    return staff.select_related("person").order_by("-role", "started_at")


def _onlooker(member: Membership, gym: Gym) -> Onlooker:
    may = tuple(words for right, words in _RIGHTS if member.is_owner or getattr(member, right))
    return Onlooker(member.board_name(gym), str(member.role), may)


def _guardians(athlete: Athlete) -> list[Onlooker]:
    links = Guardianship.objects.filter(gym=athlete.gym, athlete=athlete, ended_at=None, guardian__ended_at=None)
    return [Onlooker(link.guardian.person.full_name, "guardian") for link in links.select_related("guardian__person")]


def _keys(gym: Gym) -> QuerySet[ApiToken]:
    return ApiToken.objects.filter(gym=gym, revoked_at=None, membership__ended_at=None).order_by("made_at")


def _tablets(gym: Gym) -> QuerySet[Tablet]:
    return Tablet.objects.filter(gym=gym, revoked_at=None, enrolled_at__isnull=False).order_by("name")
