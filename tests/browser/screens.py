"""Pictures for the README: `python -m tests.browser.screens FOLDER` opens a demo gym and takes them.

No test; run it when a page has changed its looks.
"""

import argparse
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import takewhile
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.browser.devices import CHROMIUM_FLAGS, PHONE, TABLET, Device
from tests.browser.hands import Hands
from tests.plugins.engine_marks import chromium

MOST_BYTES: Final = 300_000
_LAST_LINE: Final = "Ctrl+C"


@contextmanager
def demo(port: int) -> Iterator[dict[str, str]]:
    """Run the demo in a folder of its own; gives its log-ins by role, and the password by that name."""
    with tempfile.TemporaryDirectory() as data:
        command = [sys.executable, "manage.py", "demo", f"--port={port}", f"--data={data}"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
            try:
                yield _logins(server.stdout or ())
            finally:
                server.terminate()
                server.communicate()  # hears it out: it has a last word to say


def _logins(lines: Iterable[str]) -> dict[str, str]:
    said = (line.split() for line in takewhile(lambda line: _LAST_LINE not in line, lines))
    return {words[0]: words[1] for words in said if len(words) == 2}


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port: int = found.getsockname()[1]
        return port


def signed_in(browser: Browser, device: Device, site: str, email: str, password: str) -> Page:
    page = browser.new_context(base_url=site, **device).new_page()
    Hands(page).sign_in(email, password)
    return page


def board(page: Page) -> None:
    """The running class, with an athlete's panel open."""
    page.get_by_role("region", name="Running now").get_by_role("link").first.tap()
    page.locator(".tile").get_by_role("link").first.tap()
    expect(page.locator("#panel-title")).to_be_focused()


def progress(page: Page) -> None:
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def curve(page: Page) -> None:
    """What the first standard lets through."""
    page.goto("/skills/bar-pullover/pullover-1/criterion/curve/")
    page.get_by_role("heading", name="What it lets through").evaluate("heading => heading.scrollIntoView()")


PICTURES: Final[dict[str, tuple[str, Device, Callable[[Page], None]]]] = {
    "board": ("coach", TABLET, board),
    "curve": ("coach", TABLET, curve),
    "progress": ("athlete", PHONE, progress),
}


def take(folder: Path) -> None:
    port = free_port()
    with demo(port) as logins, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=CHROMIUM_FLAGS)
        for name, (role, device, find) in PICTURES.items():
            page = signed_in(browser, device, f"http://127.0.0.1:{port}", logins[role], logins["password"])
            find(page)
            size = len(page.screenshot(path=folder / f"{name}.png"))
            print(f"{folder / name}.png: {size // 1000} kB")  # noqa: T201 (a script)
            if size > MOST_BYTES:
                raise SystemExit(f"{name}.png has more than {MOST_BYTES // 1000} kB.")
        browser.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Take the README's pictures.")
    parser.add_argument("folder", type=Path)
    take(parser.parse_args().folder)
