"""Which tests run where.

A test of one database engine is deselected on the other, and the number is printed. Browser tests are
skipped where Chromium is missing. With CI=true a skip is a failure: there, everything must have run.
"""

import os
import shutil
from collections.abc import Iterable
from pathlib import Path

import pytest
from django.db import connection

HOME_OF = {"sqlite_only": "sqlite", "postgresql_only": "postgresql"}
DESELECTED = pytest.StashKey[int]()
CI = os.environ.get("CI", "").lower() in {"1", "true"}


def chromium() -> Path | None:
    """The browser that the tests drive, or None where there is none."""
    named = os.environ.get("GYMTRACK_CHROMIUM") or shutil.which("chromium") or "/usr/bin/chromium"
    return Path(named) if Path(named).exists() else None


def belongs_elsewhere(item: pytest.Item, vendor: str) -> bool:
    return any(item.get_closest_marker(mark) and vendor != home for mark, home in HOME_OF.items())


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    elsewhere = [item for item in items if belongs_elsewhere(item, connection.vendor)]
    items[:] = [item for item in items if item not in set(elsewhere)]
    config.stash[DESELECTED] = len(elsewhere)
    if elsewhere:
        config.hook.pytest_deselected(items=elsewhere)
    if chromium() is None:
        skip_browser(items)


def skip_browser(items: Iterable[pytest.Item]) -> None:
    reason = "needs Chromium: install it, or name it in GYMTRACK_CHROMIUM"
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.skip(reason=reason))


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    # A worker tells the controller of a parallel run what it knows; the controller judges the run.
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["deselected"] = session.config.stash.get(DESELECTED, 0)
    elif CI and skipped(session.config) and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    # Each worker collects everything, so one number stands for all.
    output, config = getattr(node, "workeroutput", {}), getattr(node, "config", None)
    if isinstance(config, pytest.Config) and "deselected" in output:
        config.stash[DESELECTED] = output["deselected"]


def skipped(config: pytest.Config) -> list[pytest.TestReport]:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    return list(reporter.stats.get("skipped", [])) if reporter else []


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    count = config.stash.get(DESELECTED, 0)
    terminalreporter.write_line(f"Deselected on {connection.vendor}, as of the other engine alone: {count}")
    for report in skipped(config) if CI else ():
        terminalreporter.write_line(f"FAILED for a skip, which CI does not allow: {report.nodeid}", red=True)
