"""Prints what the walk through the site costs in taps: `record_property("taps", [step, taps, fields])` in a test.

The figures come with the tests' reports, so that they arrive from the workers of a parallel run, too.
"""

from collections.abc import Iterable, Iterator

import pytest

KEY = "taps"
Row = tuple[str, int, int]


def rows_of(reports: Iterable[pytest.TestReport]) -> Iterator[Row]:
    for report in reports:
        for name, value in report.user_properties:
            if name == KEY and isinstance(value, list):
                step, taps, fields = value
                yield str(step), int(taps), int(fields)


def table(rows: list[Row]) -> list[str]:
    total = ("all of it", sum(taps for _, taps, _ in rows), sum(fields for _, _, fields in rows))
    width = max(len(step) for step, _, _ in [*rows, total])
    lines = [f"{step:<{width}} | {taps:>4} | {fields:>12}" for step, taps, fields in [*rows, total]]
    return [f"{'step':<{width}} | taps | fields typed", f"{'-' * width}-|------|-------------", *lines]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reports = [*terminalreporter.stats.get("passed", []), *terminalreporter.stats.get("failed", [])]
    rows = [*rows_of(report for report in reports if report.when == "call")]
    if rows:
        terminalreporter.section("The walk in taps")
        for line in table(rows):
            terminalreporter.write_line(line)
