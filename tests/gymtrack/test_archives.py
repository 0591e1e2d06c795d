"""Tables packed into one archive: the same rows in the document and in the spreadsheets, and nothing runs there."""

import csv
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from decimal import Decimal
from io import BytesIO, StringIO
from zipfile import ZipFile

import pytest

from gymtrack.lib.archives import Table, Value, zip_of

AT = datetime(2026, 3, 1, 18, 30, tzinfo=UTC)
ROWS: list[Sequence[Value]] = [
    (1, None, "=2+5", Decimal("1.720"), True, ["a", "ü"]),
    (-2, 'line\nbreak, and "quotes"', "長谷川", Decimal("-0.5"), False, {"said": "=x"}),
]
COLUMNS = ("number", "nothing", "text", "length", "so", "more")


def packed(*tables: Table) -> ZipFile:
    head: dict[str, Value] = {"format": "test", "version": 1}
    return ZipFile(BytesIO(zip_of(head, tables, lambda counts: f"Rows: {counts}\nEnd", AT)))


def test_document_and_spreadsheet_have_the_same_rows():
    archive = packed(
        Table("people", {"what": "who"}, COLUMNS, iter(ROWS)), Table("empty", {"what": "none"}, ("a",), ())
    )
    assert archive.testzip() is None
    document = json.loads(archive.read("data.json"))
    assert (document["format"], document["version"]) == ("test", 1)
    people = document["tables"]["people"]
    assert (people["what"], people["columns"]) == ("who", list(COLUMNS))
    assert people["rows"] == [
        {"number": 1, "nothing": None, "text": "=2+5", "length": "1.720", "so": True, "more": ["a", "ü"]},
        {
            "number": -2,
            "nothing": 'line\nbreak, and "quotes"',
            "text": "長谷川",
            "length": "-0.5",
            "so": False,
            "more": {"said": "=x"},
        },
    ]
    read = list(csv.reader(StringIO(archive.read("tables/people.csv").decode("utf-8-sig"), newline="")))
    assert read == [
        list(COLUMNS),
        ["1", "", "'=2+5", "1.720", "yes", '["a", "ü"]'],
        ["-2", 'line\nbreak, and "quotes"', "長谷川", "-0.5", "no", '{"said": "=x"}'],
    ]


def test_a_table_without_rows_is_told_and_has_no_spreadsheet():
    archive = packed(Table("empty", {"what": "none"}, ("a",), ()))
    assert json.loads(archive.read("data.json"))["tables"] == {"empty": {"what": "none", "columns": ["a"], "rows": []}}
    assert archive.namelist() == ["data.json", "README.txt"]


def test_the_text_counts_rows_and_ends_its_lines_for_every_editor():
    text = packed(Table("people", {}, COLUMNS, ROWS)).read("README.txt")
    assert text.decode("utf-8-sig") == "Rows: {'people': 2}\r\nEnd"


def test_no_tables_make_a_document_too():
    assert json.loads(packed().read("data.json")) == {"format": "test", "version": 1, "tables": {}}


def test_a_long_table_is_whole():
    number = 20_000
    archive = packed(Table("long", {}, ("n", "word"), ((n, f"w{n * 7919 % 9973}") for n in range(number))))
    rows = json.loads(archive.read("data.json"))["tables"]["long"]["rows"]
    assert len(rows) == number
    assert rows[-1] == {"n": number - 1, "word": f"w{(number - 1) * 7919 % 9973}"}
    assert archive.read("tables/long.csv").count(b"\r\n") == number + 1


def test_a_row_of_another_width_stops_it():
    with pytest.raises(ValueError, match=r"zip|cells"):
        packed(Table("people", {}, COLUMNS, [(1, 2)]))
