"""What people hold in their hands in a gym: screens and touch, as Playwright takes them for a context."""

from typing import Any, Final

Device = dict[str, Any]

# Without motion nothing is looked at while it is still on its way to its colour or place.
_HERE: Final[Device] = {"locale": "en-GB", "timezone_id": "Europe/Berlin", "reduced_motion": "reduce"}
_TOUCH: Final[Device] = {**_HERE, "has_touch": True, "is_mobile": True}

TABLET: Final[Device] = {**_TOUCH, "viewport": {"width": 768, "height": 1024}}
TABLET_LANDSCAPE: Final[Device] = {**_TOUCH, "viewport": {"width": 1024, "height": 768}}
PHONE: Final[Device] = {**_TOUCH, "viewport": {"width": 390, "height": 844}}
LAPTOP: Final[Device] = {**_HERE, "viewport": {"width": 1280, "height": 800}}

# As root there is no sandbox; the rest keeps the browser from talking to anybody by itself, and every name
# but this machine's from being found.
CHROMIUM_FLAGS: Final = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
]
