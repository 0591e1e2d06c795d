"""Many results through many faults, by the board's own outbox and courier: each is one row, with its time."""

import random
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Route

from athletes.models import Athlete, Membership
from skills.models import Attempt, TrainingSession
from tests.browser.floor.tablet import Opened
from tests.factories.skills import step_of

pytestmark = pytest.mark.browser

ACTS = re.compile(r"/api/v1/floor/acts/$")
LostNetwork = Callable[[], bool]


ACT_MANY = """async ([session, people, step, count]) => {
  const load = (name) => import(`/static/js/floor/${name}.js`);
  const [{ openStore }, { DeviceTimes }, { Api }, { Courier }, { entryOf }, { newId }] =
    await Promise.all(["store", "times", "api", "courier", "outbox", "ids"].map(load));
  const store = await openStore();
  const [tablet, coach] = [await store.kept("tablet"), await store.kept("holder")];
  const times = new DeviceTimes();
  const api = new Api({ key: () => tablet.key, coach: () => coach, times });
  await api.get("hello/").catch(() => {});
  const quick = { set: (fn, ms) => setTimeout(fn, Math.min(ms, 20)),
    clear: (timer) => clearTimeout(timer), random: () => Math.random() };
  const courier = new Courier({ store, times, api, confirmed: () => new Set([coach]), timers: quick });
  const made = {};
  for (let place = 0; place < count; place += 1) {
    const body = { session, athlete: people[place % people.length], step, source: "judged",
      hold_tenths: 20 + (place % 30), reps: 1, unbroken: true, assistance: "none",
      variant: "", faults: [], missed: [], effort: null, pain: false,
      grade: 0, angle_degrees: null, closed_reason: "", note: "", doubt: "" };
    const moment = times.now();
    const id = newId();
    await store.put(entryOf({ id, kind: "attempt", coach, stamp: times.stamp(moment), body, after: [], label: {} }));
    made[id] = moment.wall;
    courier.kick();
  }
  const until = performance.now() + 240_000;
  while ((await store.entries()).length && performance.now() < until) {
    courier.kick();
    await new Promise((done) => setTimeout(done, 50));
  }
  return { made, left: (await store.entries()).length };
}"""


def test_500_results_through_50_faults_are_500_rows_each_with_its_time(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach)
    chance, faults = random.Random(500), [0]

    def trouble(route: Route) -> None:
        kind = chance.choice(("lost", "cut", "twice", "html", "busy", "fine")) if faults[0] < 50 else "fine"
        faults[0] += kind != "fine"
        if kind == "cut":
            route.abort()
        elif kind == "html":
            route.fulfill(status=200, content_type="text/html", body="<title>Sign in</title>")
        elif kind == "busy":
            route.fulfill(status=503, json={"title": "busy"})
        else:
            for _ in range({"fine": 0, "lost": 1, "twice": 1}[kind]):
                route.fetch()
            route.abort() if kind == "lost" else route.continue_()

    tablet.page.route(ACTS, trouble)
    step = str(step_of(coach.gym, "pullover-1").id)
    told = tablet.page.evaluate(ACT_MANY, [str(session.id), [str(athlete.id), str(minor.id)], step, 500])
    assert told["left"] == 0
    assert faults[0] == 50
    kept = {str(row.id): row.happened_at.timestamp() * 1000 for row in Attempt.objects.all()}
    assert kept.keys() == told["made"].keys()
    assert len(kept) == 500
    assert max(abs(kept[key] - wall) for key, wall in told["made"].items()) < 2_000
    lost_network()
