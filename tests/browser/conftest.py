"""Pages in a real browser, on a live server. Every page that is opened here is watched."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from athletes.models import Membership
from tests.browser.devices import CHROMIUM_FLAGS, Device
from tests.browser.watch import Watch
from tests.plugins.engine_marks import chromium

Open = Callable[..., Page]

expect.set_options(timeout=20_000)  # a machine that runs other tests beside these is slow, and not wrong


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Playwright's driver. Its event loop runs in this thread, where Django would refuse the database."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        with sync_playwright() as driver:
            yield driver


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    return {"executable_path": chromium(), "args": CHROMIUM_FLAGS}


@pytest.fixture(scope="session")
def base_url(live_server: LiveServer) -> str:
    """Where addresses without a host lead, in every context."""
    url: str = live_server.url
    return url


@pytest.fixture
def watch(live_server: LiveServer) -> Iterator[Watch]:
    """Set over every context of `open_page`; at the end nothing may have been noted."""
    watch = Watch(live_server.url)
    yield watch
    assert watch.misdeeds == []


@pytest.fixture
def open_page(
    live_server: LiveServer,
    watch: Watch,
    new_context: Callable[..., BrowserContext],
    client_of: Callable[[Membership], Client],
) -> Open:
    """Open a page of the site on a device, signed in as somebody or as nobody: `open_page(TABLET, coach)`."""

    def opened(device: Device, who: Membership | None = None, **more: Any) -> Page:
        context = new_context(**{**device, **more})
        watch.over(context)
        if who:
            cookie = client_of(who).cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}])
        return context.new_page()

    return opened
