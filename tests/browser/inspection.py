"""What keeps people from using a page, as a list of sentences."""

import json
from pathlib import Path
from typing import Any, Final

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TOUCH_PX: Final = 44
BOARD_TOUCH_PX: Final = 56
_SCRIPT: Final = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")


def axe_findings(page: Page) -> list[str]:
    """Everything that axe calls a violation, best practices included."""
    return [_words(violation) for violation in Axe().run(page).response["violations"]]


def _words(violation: dict[str, Any]) -> str:
    nodes = violation["nodes"]
    places = "; ".join(_place(node) for node in nodes[:3])
    return f"{violation['id']}: {violation['help']}: {places} ({len(nodes)} in all)"


def _place(node: dict[str, Any]) -> str:
    reasons = [check["message"] for check in (*node["any"], *node["all"], *node["none"])]
    return f"{json.dumps(node['target'], ensure_ascii=False)} {' '.join(reasons[:1])}"


def unfold(page: Page) -> list[str]:
    """Open every part that is folded away, and return their first words."""
    return _ask(page, "unfold")


def small_targets(page: Page, least: int = TOUCH_PX) -> list[str]:
    return _ask(page, "smallTargets", least)


def too_wide(page: Page) -> list[str]:
    return _ask(page, "tooWide")


def unseen_focus(page: Page) -> list[str]:
    return _ask(page, "unseenFocus")


def small_words(page: Page, selector: str, least: int) -> list[str]:
    return _ask(page, "smallWords", [selector, least])


def _ask(page: Page, name: str, argument: object = None) -> list[str]:
    found: list[str] = page.evaluate(f"(argument) => (\n{_SCRIPT}\n).{name}(argument)", argument)
    return found
