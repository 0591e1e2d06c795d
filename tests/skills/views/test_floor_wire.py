"""How much a tablet loads the first time that it opens a board of thirty: every body as sent, icons included."""

from collections.abc import Callable

import pytest
from django.test import Client

from athletes.models import Gym, Membership
from skills.models import TrainingSession
from skills.services.sessions import mark_present, start_session
from skills.views import floor
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, log, pass_step
from tests.helpers.floor import Device, enrolled, held
from tests.helpers.html import elements, text_of
from tests.helpers.whole import whole
from tests.plugins import measured

MOST_BYTES = 100_000
ATHLETES = 30
Tell = Callable[[str, object], None]


@pytest.fixture
def session(gym: Gym, owner: Membership) -> TrainingSession:
    """Thirty in a class, of whom each has passed a step or none, and three tries each in the log."""
    library(gym)
    session = start_session(by=owner, name="Monday 18:00 class", focus=None)
    for number in range(ATHLETES):
        athlete = make_athlete(gym, f"Somebody Longish {number}")
        mark_present(by=owner, session=session, athlete=athlete)
        if number % 3 == 0:
            pass_step(owner, athlete, "pullover-1")
        for tries in range(3):
            log(owner, athlete, "pullover-1", 4.0 + tries, session=session, faults=("shoulders-close",) * (tries == 0))
    return session


def sent(address: str, **headers: str) -> int:
    answer, body = whole(address, **{"Accept-Encoding": "gzip", **headers})
    assert answer.status_code == 200, address
    return len(body)


def loaded_by(page: str) -> list[str]:
    """What the shell asks for by itself: styles, scripts with all that they import, and its icon in the tab."""
    links = [found.attrs["href"] for found in elements(page, "link") if found.attrs["rel"] != "apple-touch-icon"]
    return list(dict.fromkeys([*links, *(found.attrs["src"] for found in elements(page, "script"))]))


def kind_of(address: str) -> str:
    if address.startswith("/api/"):
        return "what the server tells of people and steps"
    return {"css": "styles", "js": "modules"}.get(address.rsplit(".", 1)[-1], "shell, manifest and icon")


def told(sizes: dict[str, int]) -> dict[str, int]:
    kinds: dict[str, int] = {}
    for address, size in sizes.items():
        kinds[kind_of(address)] = kinds.get(kind_of(address), 0) + size
    return dict(sorted(kinds.items()))


def test_the_first_visit_with_a_board_of_thirty_is_light(
    session: TrainingSession, owner: Membership, record_property: Tell
) -> None:
    device: Device = enrolled(owner)
    held(device, owner)
    page = text_of(Client().get("/floor/"))
    sizes = {address: sent(address) for address in ["/floor/", *loaded_by(page)]}
    for name in ("hello/", "today/", f"sessions/{session.id}/"):
        sizes[f"/api/v1/floor/{name}"] = sent(f"/api/v1/floor/{name}", **device.by(owner).headers)
    for kind, size in told(sizes).items():
        record_property(measured.BYTES, [f"Floor board of thirty, first visit: {kind}", size])
    total, later = sum(sizes.values()), sum(sent(each) for each in {"/sw.js", *floor.addresses()} - sizes.keys())
    record_property(measured.BYTES, [f"Floor board of thirty, first visit: {len(sizes)} answers in all", total])
    record_property(measured.BYTES, ["Floor board, kept on the device besides: other screens, large icons", later])
    assert total + later <= MOST_BYTES, sizes
