"""The demo gym of one seed and day, played once and written once for all tests of a module that ask for it."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from random import Random

import pytest
from django.db import transaction

from athletes.models import Gym
from skills.demo.filling import fill
from skills.demo.simulation import DemoGym, simulate

UNTIL = date(2026, 3, 15)
PASSWORD = "six-months-of-classes"


@pytest.fixture(scope="session")
def played() -> DemoGym:
    """Half a year, as values."""
    return simulate(seed=1, until=UNTIL)


@contextmanager
def filled(played: DemoGym) -> Iterator[Gym]:
    """The played gym in the database, until the block ends."""
    with transaction.atomic():
        yield fill(played=played, password=PASSWORD)
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def demo_gym(played, django_db_setup, django_db_blocker) -> Iterator[Gym]:
    with django_db_blocker.unblock(), filled(played) as gym:
        yield gym


@pytest.fixture
def rng() -> Random:
    return Random("tests")
