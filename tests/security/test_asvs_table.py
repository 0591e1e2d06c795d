"""The table in DEVELOPERS.md of what is checked against ASVS 5.0 names tests that there are."""

import re
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
ROW = re.compile(r"\| (\*{0,2})(\d+\.\d+\.\d+)\1 \| ([123]) \| (.+?) \| (.+) \|")
NAMED = re.compile(r"`([a-z_/]+/(?:test_\w+|routes\.py|table\.py))`")
CHAPTERS = {*range(1, 9), *range(11, 17)}
# Of the levels that each begins at, read in the standard itself; the others are told from memory there.
_READ = """
    2.2.1 2.2.2 2.3.1 2.3.3 3.3.1 3.3.2 3.3.4 3.4.1 3.4.3 3.4.4 3.4.5 3.5.1 3.5.3 6.2.1 6.2.4 6.2.12 6.3.1 6.3.3 7.2.4
    7.3.1 7.3.2 7.4.2 8.2.1 8.2.2 8.2.3 8.3.1 8.4.1 13.4.2 14.1.1 14.1.2 14.2.1 14.2.4 14.3.2 16.2.1 16.3.1 16.3.2
    16.5.1
"""
READ = {*_READ.split()}


@pytest.fixture(scope="module")
def rows() -> list[tuple[str, str, str, str, str]]:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8").partition("## What is checked against ASVS 5.0")[2]
    lines = [line for line in text.partition("\n## ")[0].splitlines() if line.startswith("| ")][1:]
    found = [ROW.fullmatch(line) for line in lines]
    assert [line for line, match in zip(lines, found, strict=True) if not match] == []
    return [match.groups() for match in found if match]  # type: ignore[misc]


def test_each_test_in_the_table_exists(rows: list[tuple[str, str, str, str, str]]) -> None:
    named = {name for *_, held_by in rows for name in NAMED.findall(held_by)}
    assert len(named) > 40
    files = [ROOT / "tests" / (name if name.endswith(".py") else f"{name}.py") for name in named]
    assert [str(file) for file in files if not file.is_file()] == []


def test_all_chapters_that_apply_are_there_in_order_and_once(rows: list[tuple[str, str, str, str, str]]) -> None:
    ids = [tuple(map(int, row[1].split("."))) for row in rows]
    assert ids == sorted(set(ids))
    assert {chapter for chapter, *_ in ids} == CHAPTERS
    assert {level for _, _, level, *_ in rows} == {"1", "2"}


def test_just_the_ids_that_were_read_in_the_standard_are_told_as_such(
    rows: list[tuple[str, str, str, str, str]],
) -> None:
    assert {row[1] for row in rows if row[0]} == READ
