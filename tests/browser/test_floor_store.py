"""What a tablet keeps, in a real browser: through kills, a full disk, other tabs, other versions of the app.

The pages here are empty and load the board's own modules; the server that takes the acts is the test's.
"""

import json
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import pytest
from django.templatetags.static import static
from playwright.sync_api import BrowserContext, Page, Playwright, Route
from pytest_django.live_server_helper import LiveServer

from tests.browser.devices import CHROMIUM_FLAGS
from tests.plugins.engine_marks import chromium

pytestmark = pytest.mark.browser

ACTS: Final = "**/api/v1/floor/acts/"

# What each page has at hand: a store, a courier that is not started, and how to log something.
AT_HAND: Final = """
async (folder) => {
  const load = (name) => import(`${folder}${name}.js`);
  const [{ openStore }, box, { newId }] = [await load("store"), await load("outbox"), await load("ids")];
  const [{ DeviceTimes }, { Api }, { Courier }] = [await load("times"), await load("api"), await load("courier")];
  const store = await openStore();
  const times = new DeviceTimes();
  const api = new Api({ key: () => "key", times });
  window.states = [];
  const onState = ({ state }) => states.push(state);
  window.courier = new Courier({ store, times, api, confirmed: () => new Set(["ada"]), onState });
  window.store = store;
  window.entry = (body = {}, more = {}) => ({
    ...box.entryOf({ id: newId(), kind: "attempt", coach: "ada", stamp: times.stamp(times.now()), body }), ...more,
  });
  window.log = async (count) => {
    for (let place = 0; place < count; place += 1) await store.put(entry({ hold: place }));
  };
}
"""


@dataclass
class FakeServer:
    """Takes acts as they come, one row for each id; `held` requests wait until the test answers them."""

    holds_back: bool = False
    rows: dict[str, Any] = field(default_factory=dict)
    held: list[Route] = field(default_factory=list)

    def take(self, route: Route) -> None:
        if self.holds_back:
            self.held.append(route)
        else:
            self.answer(route)

    def commit(self, route: Route) -> list[dict[str, Any]]:
        acts: list[dict[str, Any]] = json.loads(route.request.post_data or "")["acts"]
        self.rows.update({act["id"]: act for act in acts})
        return acts

    def answer(self, route: Route) -> None:
        receipts = [{"id": act["id"], "status": "stored"} for act in self.commit(route)]
        route.fulfill(json={"at": "2026-03-02T17:00:00.000Z", "receipts": receipts})

    def answer_held(self) -> None:
        for route in self.held:
            self.answer(route)
        self.held.clear()

    @property
    def holds(self) -> list[int]:
        return sorted(row["body"]["hold"] for row in self.rows.values())


@pytest.fixture
def server() -> FakeServer:
    return FakeServer()


@pytest.fixture
def tablet(new_context: Callable[..., BrowserContext], server: FakeServer) -> BrowserContext:
    return prepared(new_context(), server)


def prepared(context: BrowserContext, server: FakeServer) -> BrowserContext:
    context.route(
        "**/empty", lambda route: route.fulfill(content_type="text/html", body="<!doctype html><title>Empty</title>")
    )
    context.route(ACTS, server.take)
    return context


def opened(context: BrowserContext, live_server: LiveServer) -> Page:
    page = context.new_page()
    page.goto(f"{live_server.url}/empty")
    page.evaluate(AT_HAND, static("js/floor/"))
    return page


def waiting(page: Page) -> int:
    count: int = page.evaluate("async () => (await store.entries()).length")
    return count


def until(page: Page, is_so: Callable[[], bool], seconds: float = 30) -> None:
    """Wait, with an eye on the network, until something is so."""
    end = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < end, "it never came to that"
        page.wait_for_timeout(20)


# ---- On the disk ----------------------------------------------------------------------------------------------------


@dataclass
class Tablet:
    """A browser with a profile on the disk, whose process can be killed."""

    process: subprocess.Popen[bytes]
    context: BrowserContext

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


@pytest.fixture
def switch_on(playwright: Playwright, tmp_path: Path, server: FakeServer) -> Iterator[Callable[[], Tablet]]:
    profile, running = tmp_path / "profile", list[Tablet]()

    def switched_on() -> Tablet:
        port = profile / "DevToolsActivePort"
        port.unlink(missing_ok=True)
        flags = [
            *CHROMIUM_FLAGS,
            "--headless",
            f"--user-data-dir={profile}",
            "--remote-debugging-port=0",
            "about:blank",
        ]
        process = subprocess.Popen([str(chromium()), *flags], stderr=subprocess.DEVNULL)
        for _ in range(600):
            if port.exists() and port.read_text().strip():
                break
            time.sleep(0.05)
        browser = playwright.chromium.connect_over_cdp(f"http://127.0.0.1:{port.read_text().splitlines()[0]}")
        running.append(Tablet(process, prepared(browser.contexts[0], server)))
        return running[-1]

    yield switched_on
    for tablet in running:
        if tablet.process.poll() is None:
            tablet.kill()


def test_what_was_kept_is_there_after_the_browser_was_killed(
    switch_on: Callable[[], Tablet], live_server: LiveServer, server: FakeServer
) -> None:
    tablet = switch_on()
    page = opened(tablet.context, live_server)
    assert page.evaluate("() => store.isDurable")
    page.evaluate("async () => { await store.keep('tablet', { key: 'abc' }); await log(25); }")
    tablet.kill()

    page = opened(switch_on().context, live_server)

    assert waiting(page) == 25
    assert page.evaluate("() => store.kept('tablet')") == {"key": "abc"}
    page.evaluate("() => courier.kick()")
    until(page, lambda: waiting(page) == 0)
    assert server.holds == list(range(25))


def test_a_full_disk_keeps_nothing_says_so_and_loses_nothing_else(
    tablet: BrowserContext, live_server: LiveServer
) -> None:
    page = tablet.new_page()
    driver = tablet.new_cdp_session(page)
    driver.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 300_000})
    page = opened(tablet, live_server)
    page.evaluate("() => log(3)")

    told = page.evaluate("() => store.put(entry({ note: 'x'.repeat(2e6) }), entry()).catch((error) => error.message)")

    assert told == "This tablet is full: this was not kept. Free some room on it, then enter it again."
    assert waiting(page) == 3
    driver.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url})
    page.evaluate("() => log(1)")
    assert waiting(page) == 4


def test_results_come_before_copies_of_what_the_server_has(tablet: BrowserContext, live_server: LiveServer) -> None:
    page = opened(tablet, live_server)
    page.evaluate("""async () => {
      await store.keep("today", { words: "x" });
      await store.keep("tablet", { key: "abc" });
      let isFull = true;
      const put = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = function (...given) {
        if (isFull && this.name === "entries") throw new DOMException("", "QuotaExceededError");
        return put.apply(this, given);
      };
      const drop = IDBObjectStore.prototype.delete;
      IDBObjectStore.prototype.delete = function (...given) {
        isFull = false;
        return drop.apply(this, given);
      };
    }""")

    page.evaluate("() => log(1)")

    assert waiting(page) == 1
    assert page.evaluate("() => store.keys()") == ["tablet"]


def test_several_are_put_together_or_none_of_them(tablet: BrowserContext, live_server: LiveServer) -> None:
    page = opened(tablet, live_server)
    told = page.evaluate("() => store.put(entry(), entry({ no: () => 1 })).catch((error) => error.name)")
    assert told == "NotKept"
    assert waiting(page) == 0


# ---- Other versions -------------------------------------------------------------------------------------------------


def test_an_earlier_database_keeps_its_outbox_and_what_this_version_does_not_know(
    tablet: BrowserContext, live_server: LiveServer, server: FakeServer
) -> None:
    page = tablet.new_page()
    page.goto(f"{live_server.url}/empty")
    act = {
        "kind": "attempt",
        "coach": "ada",
        "device_at": "2026-03-02T17:00:00.000Z",
        "offset_ms": None,
        "life": "a",
        "mono_ms": 1,
    }
    old = [
        {"id": f"00000000-0000-7000-8000-00000000000{place}", **act, "body": {"hold": place}, "colour": "green"}
        for place in (0, 1)
    ]
    page.evaluate(
        """(old) => new Promise((resolve) => {
          const request = indexedDB.open("floor", 1);
          request.onupgradeneeded = () => {
            const entries = request.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
            request.result.createObjectStore("sketches").put("kept too", "one");
            for (const entry of old) entries.put(entry);
          };
          request.onsuccess = () => { request.result.close(); resolve(); };
        })""",
        old,
    )

    page.evaluate(AT_HAND, static("js/floor/"))

    found = page.evaluate("() => store.entries()")
    assert [{**entry, "seq": None} for entry in found] == [{**entry, "seq": None} for entry in old]
    assert kept_in(page, "sketches") == ["kept too"]
    page.evaluate("async () => { await store.put({ ...entry({ hold: 2 }), mood: 7 }); courier.kick(); }")
    until(page, lambda: waiting(page) == 0)
    assert server.holds == [0, 1, 2]
    assert all("colour" not in row and "mood" not in row for row in server.rows.values())


def kept_in(page: Page, name: str) -> list[Any]:
    values: list[Any] = page.evaluate(
        """(name) => new Promise((resolve) => {
          const request = indexedDB.open("floor");
          request.onsuccess = () => {
            const all = request.result.transaction(name).objectStore(name).getAll();
            all.onsuccess = () => { request.result.close(); resolve(all.result); };
          };
        })""",
        name,
    )
    return values


def test_a_newer_database_is_taken_as_it_is_and_an_open_tab_does_not_stand_in_its_way(
    tablet: BrowserContext, live_server: LiveServer
) -> None:
    older = opened(tablet, live_server)
    older.evaluate("() => log(2)")
    newer = tablet.new_page()
    newer.goto(f"{live_server.url}/empty")
    newer.evaluate("""() => new Promise((resolve, reject) => {
      const request = indexedDB.open("floor", 40);
      request.onupgradeneeded = () => request.result.createObjectStore("later");
      request.onsuccess = () => { request.result.close(); resolve(); };
      request.onblocked = () => reject(new Error("blocked"));
    })""")

    older.evaluate("() => log(1)")

    assert waiting(older) == 3
    assert waiting(opened(tablet, live_server)) == 3


# ---- Several tabs ---------------------------------------------------------------------------------------------------

NO_LOCKS: Final = "Object.defineProperty(Navigator.prototype, 'locks', { value: undefined });"


@pytest.fixture(params=["locks", "a lease"])
def tabs(request: pytest.FixtureRequest, tablet: BrowserContext, live_server: LiveServer) -> list[Page]:
    if request.param == "a lease":
        tablet.add_init_script(NO_LOCKS)
    tabs = [opened(tablet, live_server), opened(tablet, live_server)]
    assert tabs[0].evaluate("() => Boolean(navigator.locks)") == (request.param == "locks")
    return tabs


def test_of_two_tabs_one_sends_at_a_time(tabs: list[Page], server: FakeServer) -> None:
    first, second = tabs
    server.holds_back = True
    first.evaluate("() => log(30)")
    second.evaluate("() => log(30)")
    for page in tabs:
        page.evaluate("() => courier.kick()")

    most = 0
    while waiting(first):
        until(first, lambda: bool(server.held))
        first.wait_for_timeout(100)
        most = max(most, len(server.held))
        server.answer_held()
        first.wait_for_timeout(20)

    assert most == 1
    assert server.holds == sorted([*range(30), *range(30)])


def test_another_tab_hears_of_each_change(tabs: list[Page]) -> None:
    first, second = tabs
    second.evaluate("() => { window.heard = []; store.onChange((change) => heard.push(change)); }")
    first.evaluate("async () => { await log(1); await store.keep('holder', 'ada'); }")
    until(second, lambda: len(second.evaluate("() => heard")) == 2)
    assert [list(change) for change in second.evaluate("() => heard")] == [["entries"], ["kept"]]


def test_a_page_killed_between_commit_and_answer_sends_nothing_twice_and_another_goes_on(
    tabs: list[Page], server: FakeServer, tablet: BrowserContext, live_server: LiveServer
) -> None:
    first, second = tabs
    server.holds_back = True
    first.evaluate("async () => { await log(50); courier.kick(); }")
    until(first, lambda: bool(server.held))
    server.commit(server.held.pop())  # stored, and the page dies before it hears of it
    first.close()
    server.holds_back = False

    lease_s = 25
    second.evaluate("() => courier.kick()")
    until(second, lambda: waiting(second) == 0, seconds=lease_s + 30)

    assert server.holds == list(range(50))
    assert waiting(opened(tablet, live_server)) == 0


# ---- Answers that are none ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 302, "headers": {"Location": "/empty"}},
        {"status": 200, "content_type": "text/html", "body": "<!doctype html>Welcome to the wifi"},
        {"status": 200, "content_type": "application/json", "body": json.dumps({"receipts": []})},
        {"status": 500, "content_type": "text/html", "body": "No."},
        {"status": 401, "content_type": "application/problem+json", "body": json.dumps({"code": "tablet"})},
    ],
    ids=["a redirect to sign in", "a hot spot's page", "no receipt", "a failure", "an unknown key"],
)
def test_what_names_no_id_acknowledges_nothing(
    tablet: BrowserContext, live_server: LiveServer, server: FakeServer, answer: dict[str, Any]
) -> None:
    page = opened(tablet, live_server)
    tablet.unroute(ACTS)
    tablet.route(ACTS, lambda route: route.fulfill(**answer))
    page.evaluate("async () => { await log(2); courier.kick(); }")
    until(page, lambda: page.evaluate("() => states.at(-1)") in {"away", "trouble", "shut"})
    assert waiting(page) == 2
    tablet.unroute(ACTS)
    tablet.route(ACTS, server.take)
    until(page, lambda: page.evaluate("async () => { courier.kick(); return (await store.entries()).length; }") == 0)
    assert server.holds == [0, 1]
