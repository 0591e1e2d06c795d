"""How exactly a page times a hold: against the browser's own stamps of the touches, while the page is kept busy."""

import json
import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import pytest
from playwright.sync_api import Locator, Request, expect

from athletes.models import Athlete, Membership
from skills.models import Attempt, TrainingSession
from tests.browser.floor.tablet import PAUSE_S, Opened, Tablet
from tests.browser.hands import middle_of
from tests.plugins import measured

pytestmark = pytest.mark.browser

HOLDS: Final = 20
MOST_OFF_MS: Final = 20
BUSY_MS: Final = 300
STORED_WITHIN_S: Final = 30
# How far into a tenth a hold ends: so near to either end that a page which is 20 ms off tells another tenth.
INTO_TENTH_MS: Final = (MOST_OFF_MS - 1, 100 - MOST_OFF_MS + 1)

# The browser's own stamp of each touch, and how late the page came to it.
NOTE: Final = """() => {
  window.felt = [];
  document.addEventListener("pointerdown", ({ timeStamp }) => felt.push([timeStamp, performance.now() - timeStamp]),
    { capture: true });
}"""
KEEP_BUSY: Final = """(ms) => void setTimeout(() => {
  const until = performance.now() + ms;
  while (performance.now() < until);
})"""


@dataclass(frozen=True, slots=True)
class Felt:
    """A touch: its stamp by the browser's clock, and how long afterwards a handler first ran."""

    stamp_ms: float
    late_ms: float


def touch_while_busy(tablet: Tablet, target: Locator, moment: float, busy_ms: int) -> None:
    """Touch at a moment that is still to come; the page is busy from just before it."""
    point = middle_of(target)
    time.sleep(max(0.0, moment - time.time() - 0.02))
    tablet.page.evaluate(KEEP_BUSY, busy_ms)
    time.sleep(max(0.0, moment - time.time()))
    for kind, points, at in (("touchStart", [point], moment), ("touchEnd", [], moment + 0.02)):
        touch = {"type": kind, "touchPoints": points, "timestamp": at}
        tablet.driver.send("Input.dispatchTouchEvent", touch)


def hold_while_busy(tablet: Tablet, length_ms: float, busy: tuple[int, int]) -> None:
    """Hold for so long, the page being kept busy around the start and around the stop."""
    expect(tablet.clock).to_contain_text("Start")
    began_at = max(time.time(), tablet.at + PAUSE_S) + 0.1
    tablet.at = began_at + length_ms / 1000
    touch_while_busy(tablet, tablet.clock, began_at, busy[0])
    touch_while_busy(tablet, tablet.clock, tablet.at, busy[1])


def felt_by(tablet: Tablet) -> list[tuple[Felt, Felt]]:
    """Return start and stop of each hold."""
    touches = [Felt(*each) for each in tablet.page.evaluate("() => felt")]
    return [*zip(touches[::2], touches[1::2], strict=True)]


def keep_what_is_sent(tablet: Tablet) -> dict[str, dict[str, Any]]:
    """Return what will hold each act that the page sends, by its id."""
    acts: dict[str, dict[str, Any]] = {}

    def note(request: Request) -> None:
        if request.url.endswith("/api/v1/floor/acts/"):
            acts.update({act["id"]: act for act in json.loads(request.post_data or "{}")["acts"]})

    tablet.page.on("request", note)
    return acts


def off_by(hold_tenths: int, length_ms: float) -> float:
    """By how many milliseconds a length lies outside of the tenth that was stored of it; 0 inside."""
    return max(hold_tenths * 100 - length_ms, length_ms - (hold_tenths + 1) * 100, 0.0)


def test_a_hold_is_as_long_as_the_browser_felt_it_however_busy_the_page_is(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    record_property: Callable[[str, object], None],
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.open(athlete)
    acts = keep_what_is_sent(tablet)
    tablet.page.evaluate(NOTE)
    chance = random.Random(20)
    for place in range(HOLDS):
        length_ms = chance.randrange(5, 13) * 100 + INTO_TENTH_MS[place % 2]
        busy = (BUSY_MS, 0) if place % 4 < 2 else (chance.randrange(BUSY_MS), BUSY_MS)
        hold_while_busy(tablet, length_ms, busy)
    until = time.monotonic() + STORED_WITHIN_S
    while Attempt.objects.count() < HOLDS and time.monotonic() < until:
        tablet.page.wait_for_timeout(100)

    felt = felt_by(tablet)
    rows = Attempt.objects.order_by("happened_at")
    assert (len(rows), len(felt)) == (HOLDS, HOLDS)
    lengths = [stop.stamp_ms - start.stamp_ms for start, stop in felt]
    off = [off_by(row.hold_tenths or 0, length) for row, length in zip(rows, lengths, strict=True)]
    late = [each.late_ms for hold in felt for each in hold]
    stops = [abs(acts[str(row.id)]["mono_ms"] - stop.stamp_ms) for row, (_, stop) in zip(rows, felt, strict=True)]
    apart = [abs(start.late_ms - stop.late_ms) for start, stop in felt]
    for what, figure in (
        ("the latest that a busy page came to a touch", max(late)),
        ("start or stop taken when a handler ran: how far off a hold would be, the worst of 20", max(apart)),
        ("a stored hold outside of its tenth by the browser's stamps, the worst of 20", max(off)),
        ("the kept moment of a stop beside the browser's stamp, the worst of 20", max(stops)),
    ):
        record_property(measured.KEY, [f"floor board: {what}", round(figure, 1)])
    assert sorted(apart)[HOLDS // 2] > 5 * MOST_OFF_MS, "the page was not busy enough to tell"
    # Nobody is farther off than the ends of a tenth are near, so no error of 20 ms would have gone unseen.
    assert all(min(length % 100, 100 - length % 100) < MOST_OFF_MS for length in lengths)
    assert max(off) == 0
    assert max(stops) < 1
