"""The floor board as a browser loads it: one shell with nobody's data, its service worker, its manifest.

The three are the same bytes for everybody. What the shell is made of stands in one list, so that the page, the
service worker and its version cannot disagree.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
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

_STYLES: Final = ("vendor/pico@2.1.1/pico.floor.css", "css/base.css", "css/board.css")
_ENTRY: Final = "js/floor/app.js"
_ICONS: Final = ("img/mark.svg", "img/floor-192.png", "img/floor-512.png")
_IMPORT: Final = re.compile(r"""^(?:import|export)\b[^"';]*["'](\.[^"']+)["']""", re.MULTILINE)


@require_safe
@open_to_all
def floor(request: HttpRequest) -> HttpResponse:
    """Send the shell; whoever opens it sees nobody before a tablet's key has fetched something."""
    return _checked_each_time(request, HttpResponse(_shell()))


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
    response = HttpResponse(render_to_string("skills/floor/sw.js", context), content_type="text/javascript")
    response["Service-Worker-Allowed"] = reverse("floor")
    return _checked_each_time(request, response)


def addresses() -> list[str]:
    """Return the address of everything that the board needs to open without a network, the shell first."""
    return [reverse("floor"), reverse("floor_manifest"), *(static(name) for name in _files())]


def _shell() -> str:
    """Render the shell without the request: nothing in it may depend on who asks."""
    context = {"styles": _styles(), "modules": with_imports([_ENTRY]), "entry": _ENTRY, "icons": _ICONS}
    return render_to_string("skills/floor/floor.html", context)


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


def _files() -> list[str]:
    return [*_styles(), *_modules(), *_ICONS]


def _styles() -> list[str]:
    return [*_STYLES, *_named("css/floor*.css")]


def _modules() -> list[str]:
    return with_imports(_named("js/floor/*.js"))


def with_imports(names: Iterable[str]) -> list[str]:
    """Return these modules and all that they import at once, as paths below static/, sorted.

    A screen that is imported when it is asked for is none of them; the service worker keeps it all the same.
    """
    found, ahead = set[str](), [*names]
    while ahead:
        name = ahead.pop()
        found.add(name)
        ahead += [other for other in _imports(name) if other not in found]
    return sorted(found)


def _named(pattern: str) -> list[str]:
    return sorted(path.relative_to(_folder()).as_posix() for path in _folder().glob(pattern))


def _imports(name: str) -> Iterable[str]:
    path = _folder() / name
    for relative in _IMPORT.findall(path.read_text()):
        imported = (path.parent / relative).resolve()
        if imported.is_file():
            yield imported.relative_to(_folder().resolve()).as_posix()


def _version() -> str:
    """Return a hash of the contents of everything that is kept on the device."""
    parts = [
        _shell().encode(),
        json.dumps(_manifest()).encode(),
        *((_folder() / name).read_bytes() for name in _files()),
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
