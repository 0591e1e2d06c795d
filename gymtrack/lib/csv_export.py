"""CSV as RFC 4180 has it, in UTF-8, that no spreadsheet runs as a program.

The RFC, section 2: records end with CRLF, the last one too; the first names the columns; every record has as
many cells as the first; a cell with a comma, a quotation mark or a line break stands in quotation marks, and a
quotation mark inside it is doubled.

The file begins with a byte order mark (RFC 3629, section 6). The RFC knows none, but without it the commonest
spreadsheets read UTF-8 in the machine's own code page and spoil every name beyond ASCII; Python reads such a
file as `utf-8-sig`.
"""

from __future__ import annotations

import re
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

Cell = str | int | Decimal

CONTENT_TYPE = "text/csv; charset=utf-8; header=present"

_SIGNS = "=+\\-@＝＋－＠"
# Where a spreadsheet may begin a cell: at the start, and after what it may part cells by where the machine's
# list separator is not the comma. It may pass over spaces and quotation marks to the sign.
_RISKS = re.compile(rf'^(?=[ "]*[{_SIGNS}\t\r\n])|(?<=[;\t\r\n])(?=[ "]*[{_SIGNS}])')
_QUOTED = re.compile(r'[",\r\n]')


def csv_file(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a whole file. Raises ValueError for a row with more or fewer cells than there are columns."""
    return b"".join(csv_lines(columns, rows))


def csv_lines(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[bytes]:
    """Give a file record by record, so that a long one need never be held; raises ValueError like `csv_file`."""
    yield BOM_UTF8 + _line(columns)
    for number, row in enumerate(rows, start=1):
        if len(row) != len(columns):
            raise ValueError(f"Row {number} has {len(row)} cells for {len(columns)} columns.")
        yield _line(row)


def _line(cells: Sequence[Cell]) -> bytes:
    return (",".join(map(_written, cells)) + "\r\n").encode()


def _written(cell: Cell) -> str:
    """Return a cell as it stands in the file: numbers are numbers, whatever their sign; only text is guarded."""
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    if isinstance(cell, int):
        return str(cell)
    text = guarded(cell)
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text


def guarded(text: str) -> str:
    """Put an apostrophe wherever a spreadsheet could take what follows for a formula.

    The signs are those of OWASP's "CSV Injection": = + - @, tab, CR, LF and the full-width forms.
    """
    return _RISKS.sub("'", text)
