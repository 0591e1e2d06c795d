"""A class on the floor: tablets that were let in, and who is here."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from athletes.models import Athlete, Membership
from skills.models import TrainingSession
from tests.browser.devices import TABLET, Device
from tests.browser.floor.tablet import Opened, Tablet, let_in
from tests.browser.watch import Watch
from tests.factories.skills import library, start_class
from tests.helpers.floor import enrolled


@pytest.fixture
def session(coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    """Ada and Mia are here; nothing is logged yet."""
    library(athlete.gym, coach)
    return start_class(coach, athlete, minor)


@pytest.fixture
def tablet_of(open_page: Callable[..., Page], owner: Membership, watch: Watch) -> Opened:
    """Open a tablet that was let in, in the hands of a coach: `tablet_of(coach, name="ring side")`."""
    watch.expected |= {403}  # a code that is asked for

    def opened(coach: Membership, *, name: str = "by the low bar", device: Device = TABLET, **holder: object) -> Tablet:
        page = open_page(device)
        let_in(page, enrolled(owner, name=name), coach, **holder)
        return Tablet(page)

    return opened


@pytest.fixture
def lost_network(watch: Watch) -> Callable[[], bool]:
    """Forget what the browser complained of for want of a network; whether that was all."""
    network = ("ERR_INTERNET_DISCONNECTED", "ERR_FAILED", "ERR_CONNECTION", "ERR_EMPTY_RESPONSE", "ERR_ABORTED")

    def only() -> bool:
        complaints, watch.misdeeds[:] = [*watch.misdeeds], []
        return all(any(sign in each for sign in network) for each in complaints)

    return only
