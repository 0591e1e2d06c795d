"""The floor board as a browser loads it: one shell with nobody's data, its scripts, its service worker, its manifest.

All are the same bytes for everybody. What the shell is made of stands in one list, so that the page, the
service worker and its version cannot disagree.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.http import parse_etags
from django.views.decorators.http import require_safe

from athletes.access.rules import open_to_all
from athletes.models import Load
from gymtrack.lib.joining import Joined, JoiningError, joined
from gymtrack.lib.squeezing import squeezed_script, squeezed_styles
from skills.core.pain import DIZZY, PLACES, SIDES

_STYLES: Final = ("vendor/pico@2.1.1/pico.floor.css", "css/base.css", "css/board.css", "css/run.css")
_MARGIN: Final = re.compile(r"^[ \t\n]+", re.MULTILINE)
_SCRIPT: Final = "text/javascript"
_ENTRY: Final = "floor/app.js"
_Stamps = tuple[tuple[str, int], ...]
_ICONS: Final = ("img/mark.svg", "img/floor-192.png", "img/floor-512.png")


@require_safe
@open_to_all
def floor(request: HttpRequest) -> HttpResponse:
    """Send the shell; whoever opens it sees nobody before a tablet's key has fetched something."""
    return _checked_each_time(request, HttpResponse(_shell()))


@require_safe
@open_to_all
def floor_app(request: HttpRequest) -> HttpResponse:
    """Send the modules that the board begins with, as one script."""
    return _checked_each_time(request, HttpResponse(_scripts().first, content_type=_SCRIPT))


@require_safe
@open_to_all
def floor_styles(request: HttpRequest) -> HttpResponse:
    """Send the styles of the board, as one sheet: told apart they are a third larger when compressed."""
    return _checked_each_time(request, HttpResponse(_sheet(), content_type="text/css"))


@require_safe
@open_to_all
def floor_screens(request: HttpRequest) -> HttpResponse:
    """Send the modules that come later, as another."""
    return _checked_each_time(request, HttpResponse(_scripts().later, content_type=_SCRIPT))


@require_safe
@open_to_all
def floor_manifest(request: HttpRequest) -> HttpResponse:
    """Send what the browser needs to install the board (W3C, Web Application Manifest)."""
    return _checked_each_time(request, JsonResponse(_manifest(), content_type="application/manifest+json"))


@require_safe
@open_to_all
def service_worker(request: HttpRequest) -> HttpResponse:
    """Send the service worker: its version is a hash of all that it keeps. It may stand before /floor/ alone."""
    context = {"version": _version(), "files": json.dumps(addresses())}
    script = squeezed_script(render_to_string("skills/floor/sw.js", context))
    response = HttpResponse(script, content_type=_SCRIPT)
    response["Service-Worker-Allowed"] = reverse("floor")
    return _checked_each_time(request, response)


def addresses() -> list[str]:
    """Return the address of everything that the board needs to open without a network, the shell first."""
    made = ("floor", "floor_app", "floor_screens", "floor_styles", "floor_manifest")
    return [*(reverse(name) for name in made), *(static(name) for name in _ICONS)]


def joining_problem() -> str:
    """Return why the modules of the board cannot be joined, naming the one that is to blame; "" where they can be."""
    try:
        _scripts()
    except (JoiningError, OSError) as error:
        return str(error)
    return ""


def _shell() -> str:
    """Render the shell without the request: nothing in it may depend on who asks."""
    told = {"sides": SIDES, "places": PLACES, "loads": Load.choices, "dizzy": DIZZY}
    page = render_to_string("skills/floor/floor.html", {"icons": _ICONS, **told})
    return _MARGIN.sub("", page)


def _scripts() -> Joined:
    return _joined(_stamped(_named("js/**/*.js")))


@lru_cache(maxsize=2)
def _joined(_stamps: _Stamps) -> Joined:
    """Join the modules as they are."""
    folder = _folder() / "js"
    return joined(_ENTRY, lambda name: (folder / name).read_text(), later_address=reverse("floor_screens"))


def _manifest() -> dict[str, object]:
    home = reverse("floor")
    mark, *squares = _ICONS
    return {
        "id": home,
        "name": "Floor board",
        "short_name": "Floor",
        "description": "Log a class on a tablet, with or without a network.",
        "lang": "en",
        "start_url": home,
        "scope": home,
        "display": "standalone",
        "background_color": "#faf8f4",
        "theme_color": "#1d5e59",
        "icons": [
            {"src": static(mark), "type": "image/svg+xml", "sizes": "any"},
            *({"src": static(name), "type": "image/png", "sizes": _square(name)} for name in squares),
            {"src": static(squares[-1]), "type": "image/png", "sizes": _square(squares[-1]), "purpose": "maskable"},
        ],
    }


def _square(name: str) -> str:
    """Return '192x192' for 'img/floor-192.png'."""
    side = Path(name).stem.rpartition("-")[2]
    return f"{side}x{side}"


def _folder() -> Path:
    return Path(settings.STATICFILES_DIRS[0])


def _sheet() -> str:
    return _sheet_of(_stamped((*_STYLES, *_named("css/floor*.css"))))


@lru_cache(maxsize=2)
def _sheet_of(stamps: _Stamps) -> str:
    """Join the styles as they are, without what no browser asks for."""
    return squeezed_styles("\n".join((_folder() / name).read_text() for name, _ in stamps))


def _stamped(names: Iterable[str]) -> _Stamps:
    """Name files with the moments when they changed: on a server they never change, on a desk they do."""
    return tuple((name, (_folder() / name).stat().st_mtime_ns) for name in names)


def _named(pattern: str) -> list[str]:
    return sorted(path.relative_to(_folder()).as_posix() for path in _folder().glob(pattern))


def _version() -> str:
    """Return a hash of the contents of everything that is kept on the device."""
    parts = [
        *(part.encode() for part in (_shell(), _scripts().first, _scripts().later, _sheet(), json.dumps(_manifest()))),
        *((_folder() / name).read_bytes() for name in _ICONS),
    ]
    whole = hashlib.sha256()
    for part in parts:
        whole.update(hashlib.sha256(part).digest())
    return whole.hexdigest()[:16]


def _checked_each_time(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Let the browser keep the answer, and ask each time whether it is still the same (RFC 9110, 13.1.2)."""
    tag = f'"{hashlib.sha256(response.content).hexdigest()[:16]}"'
    same = tag in (found.removeprefix("W/") for found in parse_etags(request.headers.get("If-None-Match", "")))
    answer = HttpResponseNotModified() if same else response
    answer["ETag"], answer["Cache-Control"] = tag, "no-cache"
    return answer
