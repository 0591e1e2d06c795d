"""A guardian on a phone: what is to be answered, how far, and whom to call."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Consent, EmergencyContact, Membership
from tests.browser import inspection
from tests.browser.devices import PHONE

pytestmark = pytest.mark.browser


def test_a_guardian_answers_limits_and_takes_back_and_says_whom_to_call(
    open_page: Callable[..., Page], guardian: Membership, minor: Athlete
) -> None:
    page = open_page(PHONE, guardian)
    page.goto("/wards/")
    expect(page.get_by_text("To be answered: hands-on spotting, going upside down")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Consents")).tap()

    inversion = page.get_by_role("region", name="Going upside down")
    inversion.get_by_role("button", name=re.compile("^I agree")).tap()
    expect(inversion.get_by_text("Agreed", exact=True)).to_be_visible()
    inversion.get_by_role("button", name=re.compile("^I take it back")).tap()
    expect(inversion.get_by_text("Not agreed", exact=True)).to_be_visible()

    board = page.get_by_role("region", name="Being shown by name on the board")
    expect(board.get_by_text("Shown by initials")).to_be_visible()
    board.get_by_role("button", name=re.compile("^By the number alone")).tap()
    expect(board.get_by_text("Shown by the number alone")).to_be_visible()
    assert inspection.too_wide(page) == []

    page.goto("/wards/")
    page.get_by_role("button", name=re.compile("^Whom to call")).tap()
    page.get_by_label("Name").fill("Ruth Okafor")
    page.get_by_label("Telephone").fill("call mum")
    page.get_by_role("button", name="Store").tap()
    expect(page.get_by_role("alert")).to_contain_text("Write the number in digits")
    expect(page.get_by_label("Name")).to_have_value("Ruth Okafor")
    page.get_by_label("Telephone").fill("+49 30 1234567")
    page.get_by_role("button", name="Store").tap()
    expect(page.get_by_role("link", name=re.compile("^\\+49 30 1234567"))).to_have_attribute("href", "tel:+49301234567")
    assert inspection.too_wide(page) == []

    assert [(row.kind, row.given, row.extent) for row in Consent.objects.order_by("recorded_at")] == [
        ("inversion", True, ""),
        ("inversion", False, ""),
        ("board", True, "number"),
    ]
    assert EmergencyContact.objects.get().athlete == minor
