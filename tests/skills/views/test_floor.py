"""The shell of the floor board, its manifest and its service worker: the same for everybody, and whole."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.checks import run_checks
from django.test import Client

from athletes.models import Membership
from gymtrack.lib.bodies import MOST_BYTES
from skills.api.floor_acts import MOST_ACTS
from skills.views import floor
from tests.helpers.html import elements, text_of, what_breaks_the_policy
from tests.helpers.whole import status_of

FILES = re.compile(r"const FILES\s*=\s*(\[.*?\]);", re.DOTALL)
VERSION = re.compile(r'const VERSION\s*=\s*"([0-9a-f]{16})";')
PNG_SIDES = slice(16, 24)  # width and height, in the header of a PNG (ISO/IEC 15948, 11.2.2)


def worker() -> str:
    return text_of(Client().get("/sw.js"))


def size_of(path: Path) -> tuple[int, int]:
    sides = path.read_bytes()[PNG_SIDES]
    return int.from_bytes(sides[:4], "big"), int.from_bytes(sides[4:], "big")


@pytest.mark.parametrize(
    "address", ["/floor/", "/floor/app.js", "/floor/screens.js", "/sw.js", "/floor/manifest.webmanifest"]
)
def test_everybody_gets_the_same_bytes_and_asks_again_each_time(
    client_of: Callable[[Membership], Client], coach: Membership, address: str
) -> None:
    answers = [Client().get(address), client_of(coach).get(address)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert answers[0].content == answers[1].content
    assert answers[0].headers["Cache-Control"] == "no-cache"
    assert not answers[0].cookies
    tag = answers[0].headers["ETag"]
    assert [Client().get(address, headers={"If-None-Match": each}).status_code for each in (tag, '"x"')] == [304, 200]


def test_the_shell_keeps_to_the_policy_and_is_not_for_search_engines() -> None:
    page = text_of(Client().get("/floor/"))
    assert list(what_breaks_the_policy(page)) == []
    assert [found.attrs["content"] for found in elements(page, "meta", name="robots")] == ["noindex, nofollow"]


def test_the_shell_loads_nothing_that_is_not_kept_on_the_device() -> None:
    page = text_of(Client().get("/floor/"))
    links = [found.attrs["href"] for found in elements(page, "link")]
    scripts = [found.attrs["src"] for found in elements(page, "script")]
    pictures = [found.attrs["src"] for found in elements(page, "img")]
    assert {*links, *scripts, *pictures} <= {*floor.addresses()}
    assert links


def test_everything_kept_is_there_and_kept_once() -> None:
    kept = json.loads(FILES.search(worker())[1])  # type: ignore[index]
    assert kept == floor.addresses()
    assert kept[0] == "/floor/"
    assert len({*kept}) == len(kept)
    assert {status_of(address) for address in kept} == {200}


def test_the_scripts_have_every_module_once() -> None:
    scripts = [text_of(Client().get(address)) for address in ("/floor/app.js", "/floor/screens.js")]
    folder = Path(settings.STATICFILES_DIRS[0], "js")
    for path in folder.glob("floor/*.js"):
        name = path.relative_to(folder).as_posix()
        if name != "floor/app.js":  # it is no module of the others: it runs at the end
            assert [script.count(f'$modules["{name}"] = ') for script in scripts] in ([1, 0], [0, 1]), name
    assert '$later("floor/group_screen.js")' in scripts[0]


def test_the_page_sends_no_more_at_once_than_the_server_takes() -> None:
    outbox = Path(settings.STATICFILES_DIRS[0], "js/floor/outbox.js").read_text()
    kib, acts = (re.search(pattern, outbox)[1] for pattern in (r"MOST_BYTES = (\d+) \* 1024;", r"BATCH = (\d+);"))  # type: ignore[index]
    assert (int(kib) * 1024, int(acts)) == (MOST_BYTES, MOST_ACTS)


def problems() -> list[str]:
    return [each.msg for each in run_checks() if each.id == "skills.E001"]


def test_a_check_says_before_anything_is_served_which_module_cannot_be_joined(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert problems() == []
    folder = tmp_path / "js/floor"
    folder.mkdir(parents=True)
    monkeypatch.setattr(floor, "_folder", lambda: tmp_path)
    (folder / "app.js").write_text('import whole from "./low.js";\n')
    (told,) = problems()
    assert told.startswith("The floor board's scripts cannot be joined: floor/app.js has a form that is not known here")
    (folder / "app.js").write_text('import { low } from "./low.js";\n')
    (told,) = problems()
    assert "low.js" in told


def test_the_worker_stands_before_the_board_alone() -> None:
    answer = Client().get("/sw.js")
    assert answer.headers["Service-Worker-Allowed"] == "/floor/"
    assert answer.headers["Content-Type"] == "text/javascript"


def test_another_content_of_anything_kept_is_another_version(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    before = VERSION.search(worker())[1]  # type: ignore[index]
    assert VERSION.search(worker())[1] == before  # type: ignore[index]
    whole = Path.read_bytes
    changed = "floor-192.png"
    monkeypatch.setattr(Path, "read_bytes", lambda path: whole(path) + (b"!" if path.name == changed else b""))
    assert VERSION.search(worker())[1] != before  # type: ignore[index]


def test_the_manifest_installs_the_board_with_our_own_mark() -> None:
    answer = Client().get("/floor/manifest.webmanifest")
    manifest: dict[str, Any] = json.loads(answer.content)
    assert answer.headers["Content-Type"] == "application/manifest+json"
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/floor/", "/floor/", "standalone")
    assert {icon["sizes"] for icon in manifest["icons"]} == {"any", "192x192", "512x512"}
    assert {icon["src"] for icon in manifest["icons"]} <= {*floor.addresses()}
    assert {icon.get("purpose", "any") for icon in manifest["icons"]} == {"any", "maskable"}


@pytest.mark.parametrize("side", [192, 512])
def test_an_icon_is_as_large_as_its_name_says(side: int) -> None:
    assert size_of(Path(settings.STATICFILES_DIRS[0], f"img/floor-{side}.png")) == (side, side)
