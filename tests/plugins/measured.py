"""Prints what was measured in a run: `record_property("measured_ms", [what, milliseconds])` in a test, bytes, cases.

Times say what a machine did in one run; no test asserts them. Bytes are asserted where they are told.
"""

import pytest

KEY, BYTES, CASES = "measured_ms", "measured_bytes", "measured_cases"
UNITS = {KEY: "ms", BYTES: "bytes", CASES: "cases"}


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reports = [report for report in terminalreporter.stats.get("passed", []) if report.when == "call"]
    rows = [(*value, UNITS[name]) for report in reports for name, value in report.user_properties if name in UNITS]
    if rows:
        terminalreporter.section("Measured")
        for what, number, unit in rows:
            terminalreporter.write_line(f"{what}: {number} {unit}")
