"""Files of JSON lines outside of the database, each line sealed: what must survive when the database is put back.

A seal is HMAC-SHA256 over the line's canonical JSON, so that nobody without the key can add a line or change one.
Whoever can write the file can take lines away: copies kept elsewhere would show it.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

_SEAL: Final = "seal"


@dataclass(frozen=True, slots=True)
class SealedLine:
    """One line of a file: its number from 1, what it says, and whether its seal holds."""

    number: int
    content: Mapping[str, Any]
    holds: bool


def sealed(content: Mapping[str, str | int], key: bytes) -> str:
    """Return a line without its end: the content with its seal."""
    return _spelled({**content, _SEAL: _seal_of(content, key)})


def append_line(path: Path, content: Mapping[str, str | int], key: bytes) -> str:
    """Append a line and return it only when it is on the disk, the file's own entry in its folder too.

    Raises OSError where the file cannot be written.
    """
    line = sealed(content, key)
    path.parent.mkdir(parents=True, exist_ok=True)
    is_new = not path.exists()
    # Appended in one write, so that two processes never mix their lines.
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    try:
        os.write(handle, _after_torn_line(path) + line.encode("ascii") + b"\n")
        os.fsync(handle)
    finally:
        os.close(handle)
    if is_new:
        _sync_folder(path.parent)
    return line


def read_lines(path: Path, key: bytes) -> Iterator[SealedLine]:
    """Yield the lines of a file, none for a file that is not there; what is no sealed line does not hold."""
    if not path.exists():
        return
    for number, text in enumerate(path.read_text("utf-8", errors="replace").splitlines(), start=1):
        if text.strip():
            yield _read(number, text, key)


def _read(number: int, text: str, key: bytes) -> SealedLine:
    try:
        found = json.loads(text)
    except ValueError:
        return SealedLine(number, {}, holds=False)
    if not isinstance(found, dict):
        return SealedLine(number, {}, holds=False)
    seal = str(found.pop(_SEAL, ""))
    return SealedLine(number, found, hmac.compare_digest(seal.encode(), _seal_of(found, key).encode()))


def _seal_of(content: Mapping[str, Any], key: bytes) -> str:
    return hmac.new(key, _spelled(content).encode(), hashlib.sha256).hexdigest()


def _spelled(content: Mapping[str, Any]) -> str:
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def _after_torn_line(path: Path) -> bytes:
    """Return a line end where the power went in the middle of the last line, else nothing."""
    with path.open("rb") as file:
        if not file.seek(0, os.SEEK_END):
            return b""
        file.seek(-1, os.SEEK_END)
        return b"" if file.read(1) == b"\n" else b"\n"


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
