"""Founding the first gym of an installation, with its skills, by whoever opens the page first."""

from __future__ import annotations

from django.db import connection, transaction

from athletes.core.refusal import Refusal
from athletes.models import Membership
from athletes.services.gyms import found_gym
from skills.queries.founding import is_founded
from skills.services.library import install_library

_ONE_FOUNDER = 7_368_601  # the key of the lock, any number that no other lock uses


class AlreadyFounded(Refusal):
    """There is a gym, so this page founds no other."""


def found_first_gym(
    *, name: str, time_zone: str, units: str, owner_name: str, owner_email: str, password: str
) -> Membership:
    """Found the first gym with the shipped skills and return its owner.

    Of two that come at once one founds it; the other gets AlreadyFounded. Raises what `found_gym` raises.
    """
    with transaction.atomic():
        _wait_for_other_founders()
        if is_founded():
            raise AlreadyFounded("A gym was set up here before: sign in, or ask its owner for an account.")
        owner = found_gym(
            name=name,
            time_zone=time_zone,
            units=units,
            owner_name=owner_name,
            owner_email=owner_email,
            password=password,
        )
        install_library(gym=owner.gym, by=owner)
    return owner


def _wait_for_other_founders() -> None:
    """Let one transaction at a time look and found. SQLite's write transactions already come one by one."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_ONE_FOUNDER])
