"""The plugin that decides which tests run where, watched from outside in runs of its own."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from gymtrack.bootstrap import ROOT

SETTINGS = 'DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}\n'
CONFIG = """
[pytest]
DJANGO_SETTINGS_MODULE = plain_settings
addopts = -p tests.plugins.engine_marks -ra
markers =
    browser
    sqlite_only
    postgresql_only
"""
TESTS = """
import pytest

@pytest.mark.sqlite_only
def test_of_sqlite(): pass

@pytest.mark.postgresql_only
def test_of_postgresql(): pass

@pytest.mark.browser
def test_of_a_page(): pass
"""


@pytest.fixture
def suite(tmp_path: Path) -> Path:
    (tmp_path / "plain_settings.py").write_text(SETTINGS)
    (tmp_path / "pytest.ini").write_text(CONFIG)
    (tmp_path / "test_three.py").write_text(TESTS)
    return tmp_path


def play(suite: Path, *arguments: str, chromium: Path, ci: str = "") -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", *arguments],
        cwd=suite,
        env={
            "PATH": os.defpath,
            "PYTHONPATH": f"{ROOT}{os.pathsep}{suite}",
            "GYMTRACK_CHROMIUM": str(chromium),
            "CI": ci,
        },
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    return done.returncode, done.stdout


@pytest.mark.parametrize("workers", ["0", "2"])
def test_tests_of_the_other_engine_are_deselected_and_counted(suite, workers):
    status, said = play(suite, "-n", workers, chromium=suite)
    assert status == 0
    assert "Deselected on sqlite, as of the other engine alone: 1\n" in said
    assert "2 passed" in said.splitlines()[-1]


def test_a_browser_test_is_skipped_with_its_reason_where_chromium_is_missing(suite):
    status, said = play(suite, chromium=suite / "missing")
    assert status == 0
    assert "needs Chromium: install it, or name it in GYMTRACK_CHROMIUM" in said
    assert "1 passed, 1 skipped" in said.splitlines()[-1]


def test_a_skip_fails_a_run_of_ci_and_is_named(suite):
    status, said = play(suite, chromium=suite / "missing", ci="true")
    assert status == 1
    assert "FAILED for a skip, which CI does not allow: test_three.py::test_of_a_page\n" in said


def test_a_run_of_ci_without_a_skip_passes(suite):
    status, said = play(suite, chromium=suite, ci="true")
    assert status == 0
    assert "CI does not allow" not in said
