"""The server's process is killed while it takes an act: what was kept on the tablet is stored once, at its time.

A real server and a real page on the very database of the test. Nothing stands between the two; the server kills
itself at the instant that is asked for.
"""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import BrowserContext, Page, Request, expect

from athletes.models import Athlete, Membership
from skills.models import Attempt, FloorAct, TrainingSession
from tests.browser.devices import TABLET
from tests.browser.floor.tablet import Tablet, let_in
from tests.helpers.floor import enrolled
from tests.helpers.real_server import RealServer

pytestmark = pytest.mark.browser

BACK_WITHIN_MS: Final = 60_000  # the tablet asks again after half a minute at the latest
AT_ITS_TIME: Final = timedelta(seconds=1)


@pytest.fixture(scope="session")
def browser_context_args() -> dict[str, Any]:
    """Return nothing: these pages are not at the live server of the other tests."""
    return {}


@pytest.fixture
def server(transactional_db: None, tmp_path: Path) -> Iterator[RealServer]:
    """Not started yet."""
    server = RealServer(tmp_path / "server.log")
    yield server
    server.stop()


@pytest.fixture
def tablet_at(
    server: RealServer, new_context: Callable[..., BrowserContext], owner: Membership
) -> Callable[[Membership, TrainingSession], Tablet]:
    """Open a class on a tablet that a coach holds: `tablet_at(coach, session)`."""

    def opened(coach: Membership, session: TrainingSession) -> Tablet:
        page = new_context(**TABLET, base_url=server.url).new_page()
        let_in(page, enrolled(owner), coach)
        tablet = Tablet(page)
        tablet.in_class(session)
        assert tablet.waiting() == []  # and how to look there is known before the server is gone
        return tablet

    return opened


class Sent:
    """What a page sends to be stored: by the act's id each form in which it was sent, and how often."""

    def __init__(self, page: Page) -> None:
        self.acts: dict[str, list[dict[str, Any]]] = {}
        page.on("request", self._note)

    def _note(self, request: Request) -> None:
        if request.url.endswith("/api/v1/floor/acts/"):
            for act in json.loads(request.post_data or "{}")["acts"]:
                self.acts.setdefault(act["id"], []).append(act)

    def check_again_and_the_same(self) -> None:
        """Each was sent more than once, and always as it was."""
        for forms in self.acts.values():
            assert len(forms) > 1
            assert all(form == forms[0] for form in forms)


def check_one_row(athlete: Athlete, tenths: int, stopped_at: float) -> None:
    """The hold is one row, of its length and at its time, and so is the act that made it."""
    row = Attempt.objects.get(athlete=athlete)
    act = FloorAct.objects.get(pk=row.id)
    assert (row.hold_tenths, row.source, row.faults) == (tenths, "judged", [])
    assert row.happened_at == act.happened_at
    assert abs(row.happened_at - datetime.fromtimestamp(stopped_at, UTC)) < AT_ITS_TIME


def test_a_server_killed_between_the_commit_and_its_answer_has_the_result_once(
    server: RealServer,
    tablet_at: Callable[..., Tablet],
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
) -> None:
    server.start(dies_at="answer")
    tablet = tablet_at(coach, session)
    sent = Sent(tablet.page)
    tablet.hold(athlete, 2.25)
    server.wait_until_killed()
    (committed,) = Attempt.objects.all()
    (entry,) = tablet.waiting()
    assert entry["id"] == str(committed.id)
    expect(tablet.tile(athlete)).to_contain_text("Kept: 2.2 s")
    expect(tablet.stand).to_contain_text("No network")
    expect(tablet.stand).to_contain_text("1 waiting")

    server.start()

    expect(tablet.stand).to_have_text("Everything stored", timeout=BACK_WITHIN_MS)
    expect(tablet.tile(athlete)).to_contain_text("Stored: 2.2 s")
    assert tablet.waiting() == []
    sent.check_again_and_the_same()
    assert (Attempt.objects.count(), FloorAct.objects.count()) == (1, 1)
    assert Attempt.objects.get().recorded_at == committed.recorded_at
    check_one_row(athlete, 22, tablet.at)


def test_a_server_killed_before_the_commit_has_nothing_and_then_the_result_once(
    server: RealServer,
    tablet_at: Callable[..., Tablet],
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
) -> None:
    server.start(dies_at="commit 1")
    tablet = tablet_at(coach, session)
    sent = Sent(tablet.page)
    tablet.hold(athlete, 2.25)
    server.wait_until_killed()
    assert (Attempt.objects.count(), FloorAct.objects.count()) == (0, 0)
    assert len(tablet.waiting()) == 1
    expect(tablet.stand).to_contain_text("1 waiting")

    server.start()

    expect(tablet.stand).to_have_text("Everything stored", timeout=BACK_WITHIN_MS)
    expect(tablet.tile(athlete)).to_contain_text("Stored: 2.2 s")
    sent.check_again_and_the_same()
    assert (Attempt.objects.count(), FloorAct.objects.count()) == (1, 1)
    check_one_row(athlete, 22, tablet.at)


def test_a_server_killed_between_two_acts_that_came_together_has_each_once(
    *,
    server: RealServer,
    tablet_at: Callable[..., Tablet],
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
) -> None:
    server.start(dies_at="commit 2")
    tablet = tablet_at(coach, session)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    first_at = tablet.at
    tablet.hold(minor, 3.15)
    expect(tablet.stand).to_contain_text("2 waiting")
    sent = Sent(tablet.page)
    tablet.context.set_offline(False)
    server.wait_until_killed()
    assert [row.athlete for row in Attempt.objects.all()] == [athlete]
    assert len(tablet.waiting()) == 2  # nobody was told of the first one either

    server.start()

    expect(tablet.stand).to_have_text("Everything stored", timeout=BACK_WITHIN_MS)
    sent.check_again_and_the_same()
    assert (Attempt.objects.count(), FloorAct.objects.count()) == (2, 2)
    check_one_row(athlete, 22, first_at)
    check_one_row(minor, 31, tablet.at)
