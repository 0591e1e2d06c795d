"""The board as an installed app: it opens without a network after one visit, and a new version takes nothing away."""

from collections.abc import Callable
from typing import Any

import pytest
from django.templatetags.static import static
from playwright.sync_api import BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from skills.views import floor

pytestmark = pytest.mark.browser

INSTALL = """
async (folder) => {
  const { install } = await import(`${folder}install.js`);
  const { openStore } = await import(`${folder}store.js`);
  window.news = 0;
  window.store = await openStore();
  window.installed = await install({ onNews: () => (news += 1) });
  await navigator.serviceWorker.ready;
}
"""
KEPT = """
async () => {
  const found = {};
  for (const name of await caches.keys())
    found[name] = (await (await caches.open(name)).keys()).map((request) => new URL(request.url).pathname).sort();
  return found;
}
"""


@pytest.fixture
def page(new_context: Callable[..., BrowserContext], live_server: LiveServer) -> Page:
    page = new_context().new_page()
    page.goto(f"{live_server.url}/floor/")
    page.evaluate(INSTALL, static("js/floor/"))
    return page


def kept(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(KEPT)
    return found


def test_after_one_visit_it_opens_with_no_network_at_all(page: Page, live_server: LiveServer) -> None:
    page.context.set_offline(True)
    page.goto("about:blank")
    page.goto(f"{live_server.url}/floor/")
    expect(page).to_have_title("Floor board")
    page.evaluate(INSTALL, static("js/floor/"))  # its modules come from the device too
    assert page.evaluate("() => store.isDurable && !installed.plain")


def test_it_keeps_the_listed_files_and_no_answer_of_the_server(page: Page) -> None:
    page.reload()
    page.evaluate("() => fetch('/api/v1/floor/hello/').catch(() => null)")
    page.evaluate("() => fetch('/floor/?from=home')")
    [files] = kept(page).values()
    assert files == sorted(floor.addresses())


def test_a_new_version_waits_until_it_is_asked_for_and_then_takes_nothing_from_the_outbox(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.evaluate("() => store.put({ v: 1, id: 'one', state: 'waiting', body: {} })")
    [older] = kept(page)
    monkeypatch.setattr(floor, "_version", lambda: "newer")
    page.evaluate("async () => (await navigator.serviceWorker.ready).update()")
    page.wait_for_function("() => news > 0")
    assert sorted(kept(page)) == sorted([older, "floor-shell-newer"])

    with page.expect_navigation():
        page.evaluate("() => void installed.update()")

    page.evaluate(INSTALL, static("js/floor/"))
    page.wait_for_function("async () => (await caches.keys()).length === 1")
    assert list(kept(page)) == ["floor-shell-newer"]
    assert [entry["id"] for entry in page.evaluate("() => store.entries()")] == ["one"]
