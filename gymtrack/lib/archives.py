"""Tables packed into one ZIP archive: a CSV file each, one JSON document with all of them, and a text to read first.

ZIP as in ISO/IEC 21320-1 (deflated, names in UTF-8). The JSON document stands compressed in memory until all tables
are written, since a ZIP file is written one entry after the other; rows are taken as they come.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from io import BytesIO
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from gymtrack.lib.csv_export import Cell, csv_lines

Value = str | int | float | bool | Decimal | None | Sequence["Value"] | Mapping[str, "Value"]

_CHUNK: Final = 1 << 16


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its name, which is a file's too; what is told about it; its columns; rows of as many values."""

    name: str
    told: Mapping[str, str]
    columns: Sequence[str]
    rows: Iterable[Sequence[Value]]


class _Packed:
    """Bytes that are kept compressed until they are read once."""

    def __init__(self) -> None:
        self._packer = zlib.compressobj(6)
        self._kept = BytesIO()

    def write(self, text: str) -> None:
        self._kept.write(self._packer.compress(text.encode()))

    def chunks(self) -> Iterator[bytes]:
        self._kept.write(self._packer.flush())
        self._kept.seek(0)
        unpacker = zlib.decompressobj()
        while piece := self._kept.read(_CHUNK):
            yield unpacker.decompress(piece)
        yield unpacker.flush()


def zip_of(
    head: Mapping[str, Value], tables: Iterable[Table], readme: Callable[[Mapping[str, int]], str], at: datetime
) -> bytes:
    """Return the archive: README.txt, data.json and tables/<name>.csv for every table that has rows.

    `head` is what the JSON document says before its tables; `readme` makes the text of the number of rows by table.
    """
    packed, counts, whole = _Packed(), dict[str, int](), BytesIO()
    packed.write(json.dumps(head, ensure_ascii=False)[:-1] + ', "tables": {')
    with ZipFile(whole, "w", ZIP_DEFLATED) as archive:
        for table in tables:
            packed.write(_opening(table, first=not counts))
            counts[table.name] = _write_table(archive, table, packed, at)
            packed.write("]}")
        packed.write("}}\n")
        _write(archive, "data.json", packed.chunks(), at)
        # A byte order mark, so that every editor reads it as UTF-8.
        _write(archive, "README.txt", [readme(counts).replace("\n", "\r\n").encode("utf-8-sig")], at)
    return whole.getvalue()


def _opening(table: Table, *, first: bool) -> str:
    told = json.dumps({**table.told, "columns": list(table.columns)}, ensure_ascii=False)
    return f'{"" if first else ","}\n{json.dumps(table.name)}: {told[:-1]}, "rows": ['


def _write_table(archive: ZipFile, table: Table, packed: _Packed, at: datetime) -> int:
    """Write a table's rows to both places in one go; return how many there were."""
    number = 0

    def written() -> Iterator[Sequence[Cell]]:
        nonlocal number
        for row in table.rows:
            record = json.dumps(dict(zip(table.columns, map(_plain, row), strict=True)), ensure_ascii=False)
            packed.write(f"{',' if number else ''}\n{record}")
            number += 1
            yield [_cell(value) for value in row]

    rows = written()
    first = next(rows, None)
    if first is not None:
        lines = csv_lines(table.columns, _chained(first, rows))
        _write(archive, f"tables/{table.name}.csv", lines, at)
    return number


def _chained(first: Sequence[Cell], rest: Iterator[Sequence[Cell]]) -> Iterator[Sequence[Cell]]:
    yield first
    yield from rest


def _write(archive: ZipFile, name: str, pieces: Iterable[bytes], at: datetime) -> None:
    entry = ZipInfo(name, at.timetuple()[:6])
    entry.compress_type = ZIP_DEFLATED
    with archive.open(entry, "w") as file:
        for piece in pieces:
            file.write(piece)


def _plain(value: Value) -> Value:
    return f"{value:f}" if isinstance(value, Decimal) else value


def _cell(value: Value) -> Cell:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (str, int, Decimal)):
        return value
    return json.dumps(value, ensure_ascii=False)
