"""CSV against RFC 4180, section 2, and against the standard library's reader."""

import csv
from collections.abc import Sequence
from decimal import Decimal
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gymtrack.lib.csv_export import Cell, csv_file, csv_lines, guarded

BOM = b"\xef\xbb\xbf"  # RFC 3629, section 6
SIGNS = "=+-@＝＋－＠"


def written(*rows: Sequence[Cell]) -> bytes:
    """What stands in the file below its first line."""
    content = csv_file(["a"] * len(rows[0]), rows)
    return content.partition(b"\r\n")[2]


def read(content: bytes) -> list[list[str]]:
    return list(csv.reader(StringIO(content.decode("utf-8-sig"), newline=""), strict=True))


# By the numbers of RFC 4180, section 2; the second column is written by hand from the rule.
@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param([("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")], b"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", id="1 and 2"),
        pytest.param([("a b", " c ")], b"a b, c \r\n", id="4: spaces belong to a cell"),
        pytest.param([("aaa", "b\r\nbb", "ccc")], b'aaa,"b\r\nbb",ccc\r\n', id="6: CRLF inside"),
        pytest.param([("a\nb", "c\rd")], b'"a\nb","c\rd"\r\n', id="6: half a line break inside"),
        pytest.param([("Brandt, Olga",)], b'"Brandt, Olga"\r\n', id="6: comma inside"),
        pytest.param([("aaa", 'b"bb', "ccc")], b'aaa,"b""bb",ccc\r\n', id="7: quotation mark doubled"),
        pytest.param([('"',)], b'""""\r\n', id="7: nothing but a quotation mark"),
        pytest.param([("", "")], b",\r\n", id="5: empty cells need no quotation marks"),
    ],
)
def test_records_are_written_by_the_rules(rows: list[tuple[str, ...]], expected: bytes):
    assert written(*rows) == expected


def test_file_begins_with_a_byte_order_mark_and_its_columns_and_is_utf_8():
    assert csv_file(["name", "ü"], [("Λένα", "李")]) == BOM + "name,ü\r\nΛένα,李\r\n".encode()


def test_file_without_rows_has_its_columns():
    assert csv_file(["month", "name"], []) == BOM + b"month,name\r\n"


def test_lines_come_one_record_at_a_time():
    assert list(csv_lines(["n"], [(1,), (2,)])) == [BOM + b"n\r\n", b"1\r\n", b"2\r\n"]


@pytest.mark.parametrize("row", [("one",), ("one", "two", "three"), ()])
def test_row_of_another_length_is_refused_with_its_number(row: tuple[str, ...]):
    with pytest.raises(ValueError, match=f"Row 2 has {len(row)} cells for 2 columns"):
        csv_file(["a", "b"], [("fine", "fine"), row])


@given(st.data())
def test_what_is_written_is_read_back_by_another_reader(data: st.DataObject):
    # No NUL, which that reader's older versions refuse, and nothing that UTF-8 cannot write.
    text = st.text(st.one_of(st.sampled_from('",;\r\n\t =+-@ '), st.characters(codec="utf-8", exclude_characters="\0")))
    width = data.draw(st.integers(2, 4))
    rows = data.draw(st.lists(st.lists(text, min_size=width, max_size=width), max_size=5))
    columns = [f"column {place}" for place in range(width)]
    assert read(csv_file(columns, rows)) == [columns, *([guarded(cell) for cell in row] for row in rows)]


# The beginnings that OWASP's "CSV Injection" names.
@pytest.mark.parametrize("start", [*SIGNS, "\t", "\r", "\n"])
def test_cell_that_a_spreadsheet_could_run_begins_with_an_apostrophe(start: str):
    assert guarded(f"{start}1+1") == f"'{start}1+1"
    assert read(csv_file(["name"], [(f"{start}1+1",)]))[1][0][0] == "'"


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ('=HYPERLINK("x")', '\'=HYPERLINK("x")'),
        (" =1+1", "' =1+1"),
        ('"=1+1"', '\'"=1+1"'),
        # Where the machine's list separator is a semicolon, the cell is parted there.
        ("a;=1+1", "a;'=1+1"),
        ('a; "=1+1', "a;' \"=1+1"),
        ("a\r\n@b", "a\r\n'@b"),
        ("a\t-b", "a\t'-b"),
        ("=1;+2", "'=1;'+2"),
    ],
)
def test_guard_stands_wherever_a_cell_could_begin(text: str, safe: str):
    assert guarded(text) == safe


@pytest.mark.parametrize(
    "text", ["", "L-hold", "Strict toes-to-bar", "a = b", "Anna-Lena; Ben", "c@harbour.example", "it's", "Λένα", "a\nb"]
)
def test_harmless_text_stays_as_it_is(text: str):
    assert guarded(text) == text


@given(st.text('a1 ;=+-@＝＋－＠\t\r\n"'))
def test_no_beginning_of_a_cell_is_left_unguarded_however_it_is_parted(text: str):
    cells = guarded(text).replace("\t", ";").replace("\r", ";").replace("\n", ";").split(";")
    assert [cell for cell in cells if cell.lstrip(' "').startswith(tuple(SIGNS))] == []


def test_numbers_are_numbers_whatever_their_sign():
    assert written((-3, Decimal("-0.5"), Decimal("1E+3"), 0)) == b"-3,-0.5,1000,0\r\n"
