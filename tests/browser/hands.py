"""Hands on a page: they tap, type and choose files, and count what a person would have to do."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from playwright.sync_api import Locator, Page, expect

PAUSE_MS: Final = 400  # a hand's pause between two touches; a second touch within 0.3 s is taken for a slip


def middle_of(target: Locator) -> dict[str, float]:
    """Return where its middle is on the screen. A panel may be replaced between two looks: then look again."""
    for _ in range(20):
        expect(target).to_be_visible()
        if box := target.bounding_box():
            return {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
    message = "It is there, and never for long enough to be touched."
    raise AssertionError(message)


@dataclass
class Hands:
    """One person's hands on one page. A field that is typed into is not also counted as a tap."""

    page: Page
    touches: bool = True
    taps: int = 0
    fields: int = 0

    def tap(self, target: Locator | str) -> None:
        """Touch what is named (a button, else a link, else a label), or click it where there is no touch screen."""
        found = self.find(target) if isinstance(target, str) else target
        self.taps += 1
        if self.touches:
            found.tap()
        else:
            found.click()

    def find(self, words: str) -> Locator:
        role = self.page.get_by_role
        button, link = (role(kind, name=words, exact=True) for kind in ("button", "link"))
        return button.or_(link).or_(self.page.get_by_label(words, exact=True)).locator("visible=true").first

    def type(self, label: str, text: str) -> None:
        self.fields += 1
        self.page.get_by_label(label, exact=True).fill(text)

    def choose(self, label: str, option: str) -> None:
        """Pick from a select: a touch to open it, one on the line."""
        self.taps += 2
        self.page.get_by_label(label, exact=True).select_option(label=option)

    def choose_file(self, label: str, file: Path) -> None:
        """Pick a file: a touch to open the list of files, one on the file."""
        self.taps += 2
        self.page.get_by_label(label, exact=True).set_input_files(file)

    def sign_in(self, email: str, password: str) -> None:
        """Sign in through the form."""
        self.page.goto("/account/sign-in/")
        self.type("E-mail address", email)
        self.type("Password", password)
        self.tap("Sign in")
        expect(self.page.get_by_role("navigation", name="Main")).to_be_visible()

    def hold(self, seconds: float) -> None:
        """Start the hold clock, let the time pass at once (the page's clock must be installed), stop: it is stored."""
        clock = self.page.locator("[data-clock]")
        before = (
            self.page.locator(".logged").get_attribute("data-attempt") if self.page.locator(".logged").count() else ""
        )
        self.tap(clock)
        self.page.clock.fast_forward(round(seconds * 1000))
        self.tap(clock)
        expect(self.page.locator(f".logged:not([data-attempt='{before}'])")).to_be_visible()

    def rest(self) -> None:
        """Leave a moment between two touches."""
        self.page.clock.fast_forward(PAUSE_MS)
