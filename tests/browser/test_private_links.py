"""Private links in a browser: made on a laptop, opened on a phone, and every page of them can be used by everybody."""

import re
from collections.abc import Callable
from http import HTTPStatus

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Membership, PrivateLink
from athletes.services.private_links import make_link, revoke_link
from tests.browser.devices import PHONE, TABLET
from tests.browser.test_accessible import judged, looked_at
from tests.browser.watch import Watch
from tests.browser.world import build
from tests.helpers.qr import read_back

pytestmark = pytest.mark.browser

Open = Callable[..., Page]


@pytest.fixture
def ada(owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete) -> Athlete:
    return build(owner, coach, athlete, minor).athlete


def test_a_link_is_made_here_and_opened_there(open_page: Open, watch: Watch, coach: Membership, ada: Athlete) -> None:
    page = open_page(TABLET, coach)
    page.goto(reverse("private_links", args=[ada.id]))
    page.get_by_role("button", name="Make a private link").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("A private link for number")
    found = [*judged(page, "private_link_made")]
    address = page.locator("code.key").inner_text()
    assert read_back(page.locator(".qr-frame").inner_html()) == address

    phone = open_page(PHONE)
    phone.goto(address)
    expect(phone).to_have_url(re.compile(f"{reverse('linked')}$"))
    expect(phone.get_by_role("heading", level=1)).to_have_text(f"Progress of number {ada.number}")
    found += judged(phone, "linked")
    phone.get_by_role("link", name="Who can see what").tap()
    expect(phone.get_by_role("heading", level=1)).to_contain_text("Who can see what")
    found += judged(phone, "who_sees by a link")
    assert not found, "\n".join(found)

    phone.goto(reverse("linked"))
    watch.expected |= {HTTPStatus.NOT_FOUND}
    revoke_link(by=coach, link=PrivateLink.objects.latest("made_at"))
    phone.reload()
    expect(phone.get_by_role("heading", level=1)).to_have_text("This link opens nothing")


def test_a_phone_forgets_the_link(open_page: Open, coach: Membership, ada: Athlete) -> None:
    phone = open_page(PHONE)
    phone.goto(reverse("link_open", args=[make_link(by=coach, athlete=ada).token]))
    phone.get_by_role("button", name="Forget the link in this browser").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_who_is_signed_in_chooses(open_page: Open, watch: Watch, coach: Membership, ada: Athlete) -> None:
    page = open_page(TABLET, coach)
    watch.expected |= {HTTPStatus.NOT_FOUND}
    address = reverse("link_open", args=[make_link(by=coach, athlete=ada).token])
    gone = reverse("link_open", args=["A" * 43])
    found = [*looked_at(page, "link_gone", gone, HTTPStatus.NOT_FOUND), *looked_at(page, "link_choose", address)]
    assert not found, "\n".join(found)
    page.goto(address)
    page.get_by_role("button", name="Sign out and open the link").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Progress of number {ada.number}")
