"""Pages as PDF, laid out by Typst (https://typst.app/docs/) from a template file and values.

Values travel as JSON, so that they are text and never markup, whatever is written in them. What is printed is PDF/UA-1
(ISO 14289-1): a screen reader can read it, and a letter that no font has is an error and never a gap. Equal values
make equal bytes, as long as the template sets the document's date. Typst reads the template's folder and the fonts
alone; it would load packages from another host where a template imported one, so none does.
"""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final, cast

if TYPE_CHECKING:
    from typst import Compiler

Value = str | int | float | bool | None | Sequence["Value"] | Mapping[str, "Value"]

FONTS: Final = ("manimgx_fonts", "manimgx_fonts_cjk")  # Noto Sans for many scripts; Chinese, Japanese, Korean
REPLACEMENT: Final = "\ufffd"

# Embeddings, overrides and isolates: a name has no use for them, and one could turn the rest of its line around.
_TURNING: Final = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])
_NO_GLYPH: Final = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
_ESCAPED: Final = re.compile(r"\\u\{([0-9a-f]+)\}")
_MOST_ROUNDS: Final = 40  # each finds one letter that no font has; then all beyond Greek and Cyrillic are left out
_FIRST_BEYOND: Final = 0x0530

_lock = threading.Lock()


@dataclass(frozen=True, slots=True)
class Pdf:
    """A finished document, and the characters that no font has; each stands as a replacement character."""

    content: bytes
    unprintable: tuple[str, ...]


def make_pdf(template: Path, values: Mapping[str, Value]) -> Pdf:
    """Lay out a template, which finds the values as JSON in `sys.inputs.values`.

    In `sys.inputs.unprintable` it finds what could not be printed, as a JSON list like ["U+13A0"], to say so. Raises
    TypstError for a template that is wrong. One document at a time: the compiler is not thread-safe.
    """
    missing: set[str] = set()
    plain = _changed(values, _TURNING)
    with _lock:
        for _ in range(_MOST_ROUNDS):
            try:
                return Pdf(_compiled(template, plain, missing), tuple(sorted(missing)))
            except RuntimeError as error:  # TypstError, which is not imported before it is needed
                missing |= _new_ones(error, missing)
        missing |= {sign for sign in _signs(plain) if ord(sign) >= _FIRST_BEYOND}
        return Pdf(_compiled(template, plain, missing), tuple(sorted(missing)))


def _new_ones(error: RuntimeError, missing: set[str]) -> set[str]:
    """Return the characters that the error says no font has; raises the error where it says something else."""
    found = {sign for sign in _unwritten(str(error)) if not (sign.isascii() and sign.isprintable())} - missing
    if not found:
        raise error
    return found


def _unwritten(message: str) -> str:
    said = _NO_GLYPH.search(message)
    return _ESCAPED.sub(lambda code: chr(int(code[1], 16)), said[1]) if said else ""


def _compiled(template: Path, values: Value, missing: set[str]) -> bytes:
    told = _changed(values, {ord(sign): REPLACEMENT for sign in missing})
    codes = [f"U+{ord(sign):04X}" for sign in sorted(missing)]
    inputs = {"values": json.dumps(told, ensure_ascii=False), "unprintable": json.dumps(codes)}
    made = _compiler().compile(
        input=template, root=template.parent, format="pdf", sys_inputs=inputs, pdf_standards="ua-1"
    )
    return cast("bytes", made)  # one document: only pictures come page by page


@cache
def _compiler() -> Compiler:
    """Return the compiler, kept: it has read the fonts and the templates. Typst is loaded with the first document."""
    from typst import Compiler, Fonts  # noqa: PLC0415

    folders = [str(files(package)) for package in FONTS]
    fonts = Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=folders)
    nowhere = str(files(FONTS[0]) / "packages")
    return Compiler(font_paths=fonts, package_path=nowhere, package_cache_path=nowhere)


def _changed(value: Value, table: Mapping[int, str | None]) -> Value:
    """Return the value with the characters of the table replaced in every text."""
    match value:
        case str():
            return value.translate(table)
        case Mapping():
            return {key: _changed(each, table) for key, each in value.items()}
        case Sequence():
            return [_changed(each, table) for each in value]
        case _:
            return value


def _signs(value: Value) -> Iterator[str]:
    match value:
        case str():
            yield from value
        case Mapping():
            for each in value.values():
                yield from _signs(each)
        case Sequence():
            for each in value:
                yield from _signs(each)
