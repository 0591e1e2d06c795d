"""Pictures for the README: `python -m tests.browser.screens FOLDER` opens a demo gym and takes them.

No test; run it when a page has changed its looks.
"""

import argparse
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from itertools import takewhile
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser, Page, expect, sync_playwright

from skills.demo.cast import COACHES
from tests.browser.devices import CHROMIUM_FLAGS, PHONE, TABLET, TABLET_LANDSCAPE, Device
from tests.browser.hands import PAUSE_MS, Hands
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


def progress(page: Page) -> None:
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def curve(page: Page) -> None:
    """What the first standard lets through."""
    page.goto("/skills/bar-pullover/pullover-1/criterion/curve/")
    page.get_by_role("heading", name="What it lets through").evaluate("heading => heading.scrollIntoView()")


def floor(browser: Browser, site: str, logins: Mapping[str, str]) -> Page:
    """The running class on a tablet that was let in and that the coach holds; one athlete's clock runs."""
    page = browser.new_context(base_url=site, **TABLET).new_page()
    hands = Hands(page)
    page.goto("/floor/")
    hands.type("Code, such as ABCD-EFGH", logins["tablet"])
    hands.tap("Let it in")
    hands.tap(page.locator("[data-do=choose-coach]").filter(has_text=COACHES[0].full_name))
    hands.type("Six digits", logins["coach-code"])
    hands.tap(page.locator("[data-slot=classes] a").first)
    hands.tap(page.locator(".tile").filter(has_text="clean hold").get_by_role("link").first)  # there is a clock
    expect(page.locator("#panel-title")).to_be_focused()
    page.wait_for_timeout(PAUSE_MS)
    hands.tap(page.locator(".clock[data-do=clock]"))
    return page


# The floor board by the way the tablet is held: upright one athlete at a time, else beside the tiles.
HELD: Final = {"floor-portrait": TABLET, "floor-landscape": TABLET_LANDSCAPE}

PICTURES: Final[dict[str, tuple[str, Device, Callable[[Page], None]]]] = {
    "curve": ("coach", TABLET, curve),
    "progress": ("athlete", PHONE, progress),
}


def keep(page: Page, file: Path) -> None:
    """Write the picture; raises SystemExit where it is too large for a README."""
    size = len(page.screenshot(path=file))
    print(f"{file}: {size // 1000} kB")  # noqa: T201 (a script)
    if size > MOST_BYTES:
        raise SystemExit(f"{file.name} has more than {MOST_BYTES // 1000} kB.")


def take(folder: Path) -> None:
    port = free_port()
    site = f"http://127.0.0.1:{port}"
    with demo(port) as logins, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=CHROMIUM_FLAGS)
        for name, (role, device, find) in PICTURES.items():
            page = signed_in(browser, device, site, logins[role], logins["password"])
            find(page)
            keep(page, folder / f"{name}.png")
        tablet = floor(browser, site, logins)
        for name, device in HELD.items():
            tablet.set_viewport_size(device["viewport"])
            tablet.wait_for_timeout(PAUSE_MS)  # the page finds its new places
            keep(tablet, folder / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Take the README's pictures.")
    parser.add_argument("folder", type=Path)
    take(parser.parse_args().folder)
