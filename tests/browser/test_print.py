"""The proof of a day and the list for open gym fit one sheet, of A4 and of letter."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from athletes.models import Athlete, Membership
from tests.browser.devices import LAPTOP
from tests.browser.world import build

pytestmark = pytest.mark.browser


def test_proof_and_list_fit_one_sheet(
    open_page: Callable[..., Page], owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    world, page = build(owner, coach, athlete, minor), open_page(LAPTOP, coach)
    sheets = {}
    for name in ("proof", "alone"):
        page.goto(world.address(name))
        for size in ("A4", "Letter"):
            sheets[name, size] = len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=size)))
    assert sheets == dict.fromkeys(sheets, 1)
