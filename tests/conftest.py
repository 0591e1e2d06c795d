"""The cast that all tests share, and what must hold around every test.

Berlin's Harbour Hall is `gym`: Olga owns it; Cleo may log and sign off, Timo may only log, Rhea may only read; Ada
practises and has a log-in; Mia is fourteen, and Greta is her guardian. New York's Uptown Loft is `other_gym`, with
Otis for a coach. Sten signs in and belongs nowhere.
"""

import os
from collections.abc import Callable, Iterator

import hypothesis
import pytest
from django.conf import settings
from django.db import connections
from django.test import Client, override_settings
from pytest_django import DjangoDbBlocker

from athletes.access.members import _SESSION_KEY
from athletes.models import Account, Athlete, Gym, Membership
from tests.factories.athletes import (
    Role,
    make_account,
    make_athlete,
    make_guardian,
    make_gym,
    make_login,
    make_member,
    years_before_today,
)
from tests.helpers.flush import lift_guards_while_flushing
from tests.helpers.leftovers import end_leftover_sessions

lift_guards_while_flushing()

# How long an example takes says nothing on a busy machine. With CI set, Hypothesis has a profile of its own
# that is as patient, and derandomized.
if "CI" not in os.environ:
    hypothesis.settings.register_profile("patient", deadline=None)
    hypothesis.settings.load_profile("patient")


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """Keep SQLite's test database in a file, as a gym does: in memory all threads would share one transaction."""
    if connections["default"].vendor == "sqlite":
        settings.DATABASES["default"]["TEST"]["NAME"] = str(settings.DATA_DIR / "test.sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Leave nobody in the test database, so that it can be dropped."""
    yield
    with django_db_blocker.unblock():
        end_leftover_sessions()


@pytest.fixture(scope="session", autouse=True)
def _quick_passwords() -> Iterator[None]:
    """Hash passwords in no time; the real hasher takes a tenth of a second for each of the cast."""
    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        yield


@pytest.fixture
def gym(db: None) -> Gym:
    return make_gym()


@pytest.fixture
def other_gym(db: None) -> Gym:
    return make_gym(slug="uptown", name="Uptown Loft", time_zone="America/New_York")


@pytest.fixture
def owner(gym: Gym) -> Membership:
    return make_member(gym, Role.OWNER, "Olga Brandt")


@pytest.fixture
def coach(gym: Gym) -> Membership:
    return make_member(gym, Role.COACH, "Cleo Adeyemi", rights=("may_log", "may_sign_off"))


@pytest.fixture
def coach_two(gym: Gym) -> Membership:
    return make_member(gym, Role.COACH, "Timo Laine", rights=("may_log",))


@pytest.fixture
def reader(gym: Gym) -> Membership:
    return make_member(gym, Role.COACH, "Rhea Nagy")


@pytest.fixture
def other_coach(other_gym: Gym) -> Membership:
    return make_member(other_gym, Role.COACH, "Otis Moreau", rights=("may_log", "may_sign_off"))


@pytest.fixture
def athlete(gym: Gym) -> Athlete:
    return make_athlete(gym, "Ada Lindqvist")


@pytest.fixture
def minor(gym: Gym) -> Athlete:
    return make_athlete(gym, "Mia Okafor", birth_on=years_before_today(14))


@pytest.fixture
def athlete_member(athlete: Athlete) -> Membership:
    return make_login(athlete)


@pytest.fixture
def guardian(minor: Athlete) -> Membership:
    return make_guardian(minor, "Greta Okafor")


@pytest.fixture
def stranger(db: None) -> Account:
    return make_account("sten@nowhere.example")


@pytest.fixture
def client_of() -> Callable[[Membership | Account], Client]:
    """Sign somebody in: `client_of(coach).get(...)`."""

    def signed_in(who: Membership | Account) -> Client:
        client = Client()
        client.force_login(who.account if isinstance(who, Membership) else who)
        if isinstance(who, Membership):
            session = client.session
            session[_SESSION_KEY] = str(who.id)
            session.save()
        return client

    return signed_in
