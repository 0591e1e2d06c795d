"""Founding a gym, and changing what it is called and where it stands."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Final, TypedDict, Unpack

from allauth.account.models import EmailAddress
from django.db import transaction
from django.utils.text import slugify

from athletes.access.second_factor import has_second_factor
from athletes.core.refusal import Refusal
from athletes.core.rights import RIGHTS
from athletes.core.roster import NAME_LENGTH, name_problem, tidy_name
from athletes.core.zones import zone_names
from athletes.models import AuditHead, Gym, Membership, Person
from athletes.services.accounts import draft_account, stored_account
from athletes.services.audit import record_act
from athletes.services.rights import note_rights
from gymtrack.lib.ids import new_id

SLUG_LENGTH = 60


class BadGymName(Refusal):
    """The gym's name is missing, too long or cannot be printed."""

    field = "name"


class BadOwnerName(Refusal):
    """The owner's name is missing, too long or cannot be printed."""

    field = "owner_name"


class UnknownTimeZone(Refusal):
    """The time zone is not in the IANA database."""

    field = "time_zone"


class UnknownUnits(Refusal):
    """The units are neither metric nor imperial."""

    field = "units"


class NoOwnFactor(Refusal):
    """Who asks others for a second factor must have one, or would be shut out by the very rule."""

    field = "staff_need_second_factor"


class BadOwnDataAge(Refusal):
    """No law that we know of lets younger minors decide about their data, and adults decide anyway."""

    field = "own_data_age_years"


class BadKeepMonths(Refusal):
    """Nothing is kept for no time at all, and nothing longer than anybody remembers why."""

    field = "keep_months_after_leaving"


class BadKeepDays(Refusal):
    """The same, for notes on pain."""

    field = "keep_pain_notes_days"


class GymChoices(TypedDict, total=False):
    """What an owner may choose beside name, time zone and units; None stays as it is."""

    asks_consent: bool | None
    staff_need_second_factor: bool | None
    own_data_age_years: int | None
    keep_months_after_leaving: int | None
    keep_pain_notes_days: int | None


_CHOICES: Final = tuple(GymChoices.__annotations__)
# 13: the COPPA rule (16 CFR 312) and the least that GDPR art. 8(1) lets a state say. The others: common practice, no
# source; ten years outlast the times within which most claims can be made.
_LIMITS: Final[Mapping[str, tuple[type[Refusal], int, int, str]]] = {
    "own_data_age_years": (BadOwnDataAge, 13, 18, "The age from which minors decide about their own data is"),
    "keep_months_after_leaving": (BadKeepMonths, 1, 120, "Months to keep somebody’s data after they left:"),
    "keep_pain_notes_days": (BadKeepDays, 7, 730, "Days to keep notes on pain:"),
}


class SlugTaken(Refusal):
    """Another gym has the short name."""

    field = "slug"


def found_gym(
    *,
    name: str,
    time_zone: str,
    units: str,
    owner_name: str,
    owner_email: str,
    password: str,
    slug: str = "",
    at: datetime | None = None,
) -> Membership:
    """Found a gym with its owner and the start of its audit chain; return the owner's membership.

    Without a slug one is made of the name. The owner's rights hold from `at` on, from now without it.
    Raises BadGymName, BadOwnerName, UnknownTimeZone, UnknownUnits, SlugTaken, BadEmail, WeakPassword.
    """
    _check_gym(name, time_zone, units)
    if problem := name_problem(tidy_name(owner_name)):
        raise BadOwnerName(problem)
    draft = draft_account(email=owner_email, password=password, gym_name=name)
    with transaction.atomic():
        gym = Gym(slug=_free_slug(slug, name), name=tidy_name(name), time_zone=time_zone, units=units)
        gym.asks_consent = True
        gym.save(force_insert=True)
        AuditHead.objects.create(gym=gym)
        account = stored_account(draft)
        EmailAddress.objects.get_or_create(user=account, email=account.email, defaults={"primary": True})
        person = Person.objects.create(gym=gym, full_name=tidy_name(owner_name), email=account.email)
        owner = Membership.objects.create(gym=gym, account=account, person=person, role=Membership.Role.OWNER)
        note_rights(membership=owner, rights=RIGHTS, at=at or owner.started_at)
        content = {"time_zone": time_zone, "units": units}
        record_act(gym=gym, actor=owner, act="gym_founded", about=gym.id, content=content)
    return owner


@transaction.atomic
def change_gym(
    *,
    member: Membership,
    name: str,
    time_zone: str,
    units: str,
    **choices: Unpack[GymChoices],
) -> Gym:
    """Change the member's gym and return it; what is None or left out stays as it is.

    Raises BadGymName, UnknownTimeZone, UnknownUnits, NoOwnFactor, BadOwnDataAge, BadKeepMonths, BadKeepDays.

    Another time zone has other days, so all that was derived from the old ones is stale from now on.
    """
    _check_gym(name, time_zone, units)
    _check_limits(choices)
    # As it is now, not as it was when the request began: two owners may be at it.
    gym = Gym.objects.select_for_update(no_key=True).get(pk=member.gym_id)
    if time_zone != gym.time_zone:
        gym.rules_stamp = new_id()
    gym.name, gym.time_zone, gym.units = tidy_name(name), time_zone, units
    _check_own_factor(member, asked=bool(choices.get("staff_need_second_factor")) and not gym.staff_need_second_factor)
    for choice, value in choices.items():
        if value is not None:
            setattr(gym, choice, value)
    gym.save(update_fields=["name", "time_zone", "units", "rules_stamp", *_CHOICES])
    content = {"time_zone": time_zone, "units": units, **{name: getattr(gym, name) for name in _CHOICES}}
    record_act(gym=gym, actor=member, act="gym_changed", about=gym.id, content=content)
    return gym


def _check_gym(name: str, time_zone: str, units: str) -> None:
    if problem := name_problem(tidy_name(name)):
        raise BadGymName(problem)
    if time_zone not in zone_names():
        raise UnknownTimeZone(f"“{time_zone[:NAME_LENGTH]}” is no IANA time zone; write it like Europe/Lisbon.")
    if units not in Gym.Units.values:
        raise UnknownUnits(f"Units are {' or '.join(Gym.Units.values)}.")


def _check_limits(choices: GymChoices) -> None:
    for field, (refusal, least, most, words) in _LIMITS.items():
        value = choices.get(field)
        if isinstance(value, int) and not least <= value <= most:
            raise refusal(f"{words} {least} to {most}.")


def _check_own_factor(member: Membership, *, asked: bool) -> None:
    if asked and not has_second_factor(member.account_id):
        raise NoOwnFactor("Set up your own second factor first, under “Sign-in and safety”: this rule is for you too.")


def _free_slug(wanted: str, name: str) -> str:
    if wanted:
        if Gym.objects.filter(slug=wanted).exists():
            raise SlugTaken(f"Another gym is called {wanted} for short.")
        return wanted
    stem = slugify(name)[: SLUG_LENGTH - 4] or "gym"
    taken = set(Gym.objects.filter(slug__startswith=stem).values_list("slug", flat=True))
    if stem not in taken:
        return stem
    return next(slug for number in range(2, len(taken) + 3) if (slug := f"{stem}-{number}") not in taken)
