"""Prints times that were measured in a browser: `record_property("measured_ms", [what, milliseconds])` in a test.

They say what a machine did in one run; no test asserts them.
"""

import pytest

KEY = "measured_ms"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reports = [report for report in terminalreporter.stats.get("passed", []) if report.when == "call"]
    rows = [value for report in reports for name, value in report.user_properties if name == KEY]
    if rows:
        terminalreporter.section("Measured in the browser")
        for what, milliseconds in rows:
            terminalreporter.write_line(f"{what}: {milliseconds} ms")
