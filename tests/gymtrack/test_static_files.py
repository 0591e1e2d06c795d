"""Hashed names, as a gym's server has them: every module imports the module of its own version."""

import gzip
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import call_command
from django.test import override_settings

from skills.views.floor import addresses
from tests.helpers.whole import status_of, whole

HASHED = re.compile(r"\.[0-9a-f]{12}\.\w+$")
IMPORTED = re.compile(r"""^(?:import|export)\b[^"';]*["'](\.\.?/[^"']+)["']""", re.MULTILINE)
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "gymtrack.lib.static_files.HashedStaticFilesStorage"},
}


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Everything collected, and in use while the tests of this module run."""
    root = tmp_path_factory.mktemp("static")
    with override_settings(STATIC_ROOT=root, STORAGES=STORAGES):
        call_command("collectstatic", interactive=False, verbosity=0)
        yield root


def modules(root: Path) -> list[Path]:
    return [path for path in (root / "js").rglob("*.js") if HASHED.search(path.name)]


def test_each_module_imports_hashed_names_that_are_there(collected: Path) -> None:
    found = [(path, name) for path in modules(collected) for name in IMPORTED.findall(path.read_text())]
    assert found
    for path, name in found:
        assert HASHED.search(name), (path.name, name)
        assert (path.parent / name).resolve().is_file(), (path.name, name)


def test_each_hashed_text_is_kept_compressed_too(collected: Path) -> None:
    for path in modules(collected):
        assert gzip.decompress(Path(f"{path}.gz").read_bytes()) == path.read_bytes()


def test_the_kept_compressed_file_is_what_is_sent(collected: Path) -> None:
    address = staticfiles_storage.url("css/base.css")
    kept = (collected / f"{address.removeprefix('/static/')}.gz").read_bytes()
    answer, body = whole(address, **{"Accept-Encoding": "gzip"})
    assert (answer.headers["Content-Encoding"], body) == ("gzip", kept)
    assert "immutable" in answer.headers["Cache-Control"]


def test_the_floor_board_is_kept_under_hashed_names(collected: Path) -> None:
    made, files = addresses()[:5], addresses()[5:]
    modules = ["/floor/app.js", "/floor/screens.js"]
    assert made == ["/floor/", *modules, "/floor/styles.css", "/floor/manifest.webmanifest"]
    assert all(HASHED.search(address) for address in files)
    assert {status_of(address) for address in addresses()} == {200}
