"""One mapping of a skill file, read key by key; what is wrong is written down with its place."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar
from unicodedata import category

from skills.library.documents import line_of, without_lines
from skills.library.texts import MOST_CODE, MOST_ROWS, MOST_TEXT, RESERVED_CODES, FileProblem

_Value = TypeVar("_Value")
_NOTED = object()  # stands for a value whose absence has been written down already
CODE = r"[a-z0-9]+(-[a-z0-9]+)*"
_CODE = re.compile(CODE)
_SEEN = "LNPS"  # letters, numbers, punctuation, symbols: a text without any of them is blank to the eye
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")  # turn the writing of what follows


@dataclass(slots=True)
class Entry:
    """A mapping at a place.

    Every method adds a problem when its key is missing or wrong, and gives a harmless value of its type.
    ``head`` names file and step ("swing.yaml, step swing-1"), ``path`` the key inside it ("faults[2]").
    """

    data: Mapping[Any, object]
    head: str
    path: str
    problems: list[FileProblem]
    _known: set[str] = field(default_factory=set)

    def note(self, key: str, sentence: str) -> None:
        """Write down what is wrong with ``key``."""
        self.problems.append(FileProblem(self.head, self._at(key), sentence, line_of(self.data, key)))

    def text(self, key: str, *, most: int = MOST_TEXT) -> str:
        """A text that is not empty, of at most ``most`` characters."""
        return self._text(key, self._get(key), most)

    def text_or_none(self, key: str) -> str | None:
        """A text, or None where the file says null."""
        value = self._get(key, null=True)
        return None if value is None else self._text(key, value, MOST_TEXT)

    def code(self, key: str) -> str:
        """Small letters, digits and single hyphens."""
        code = self.text(key, most=MOST_CODE)
        if code and not _CODE.fullmatch(code):
            self.note(key, f"“{code}” is not a code; use small letters, digits and single hyphens.")
        return code

    def free_code(self, key: str) -> str:
        """A code that is not a word of an address."""
        code = self.code(key)
        if code in RESERVED_CODES:
            self.note(key, f"“{code}” cannot be a code here; choose another word.")
        return code

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self._get(key)
        if isinstance(value, bool):
            return value
        return self._wrong(key, value, "must be true or false", otherwise=False)

    def whole(self, key: str, *, most: int, least: int = 1) -> int:
        """A whole number from ``least``."""
        number = self._whole(key, self._get(key), most, least)
        return least if number is None else number

    def whole_or_none(self, key: str, *, most: int) -> int | None:
        """A whole number from 1, or None where the file says null."""
        value = self._get(key, null=True)
        return None if value is None else self._whole(key, value, most)

    def texts(self, key: str, *, least: int = 0, most: int = MOST_TEXT) -> tuple[str, ...]:
        """A list of texts, at least ``least`` of them, each of at most ``most`` characters."""
        return tuple(self._text(f"{key}[{n}]", item, most) for n, item in enumerate(self._items(key, least, MOST_ROWS)))

    def words(self, key: str, allowed: Sequence[str]) -> tuple[str, ...]:
        """A list of different words out of ``allowed``."""
        words = self.texts(key)
        for word in words:
            if word and word not in allowed:
                self.note(key, f"“{word}” is not one of {', '.join(allowed)}.")
        self.refuse_twice(key, words)
        return words

    def entries(self, key: str, *, least: int = 0, most: int = MOST_ROWS) -> tuple["Entry", ...]:
        """A list of mappings, at least ``least`` of them; the first is ``key[0]``."""
        found = (self._entry(f"{key}[{n}]", item) for n, item in enumerate(self._items(key, least, most)))
        return tuple(entry for entry in found if entry is not None)

    def entry(self, key: str) -> "Entry | None":
        """A mapping of its own under ``key``."""
        return self._entry(key, self._get(key))

    def raw(self, key: str) -> Mapping[str, object]:
        """A mapping whose keys are texts, as it stands in the file."""
        value = self._get(key)
        if isinstance(value, Mapping) and value and all(isinstance(name, str) for name in value):
            return {str(name): without_lines(item) for name, item in value.items()}
        return self._wrong(key, value, "must be a mapping such as {best: {seconds: 5}}", otherwise={})

    def close(self) -> None:
        """Write down the keys that nobody asked for."""
        for name in self.data:
            if name not in self._known:
                self.note(str(name), "is not a key that belongs here.")

    def has(self, key: str) -> bool:
        """Whether an optional key is there."""
        self._known.add(key)
        return key in self.data

    def refuse_twice(self, key: str, codes: Sequence[str]) -> None:
        """Write down each code of the list ``key`` that stands in it more than once."""
        for code in sorted({code for code in codes if code and codes.count(code) > 1}):
            self.note(key, f"“{code}” stands here more than once.")

    def _at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def _get(self, key: str, *, null: bool = False) -> object:
        if not self.has(key):
            self.note(key, "is missing.")
            return _NOTED
        if self.data[key] is None and not null:
            self.note(key, "is empty.")
            return _NOTED
        return self.data[key]

    def _wrong(self, key: str, value: object, rule: str, *, otherwise: _Value) -> _Value:
        if value is not _NOTED:
            self.note(key, f"{rule}.")
        return otherwise

    def _text(self, key: str, value: object, most: int) -> str:
        if not isinstance(value, str):
            return self._wrong(key, value, f"must be a text{_taken_for(value)}", otherwise="")
        if bad := next((one for one in value if _is_control(one)), ""):
            return self._wrong(key, value, f"holds a control character (U+{ord(bad):04X}); take it out", otherwise="")
        if not any(category(one)[0] in _SEEN for one in value):
            return self._wrong(key, value, "must not be empty", otherwise="")
        text = " ".join(value.split())
        if len(text) > most:
            return self._wrong(key, value, f"has {len(text)} characters; {most} is the most", otherwise="")
        return text

    def _whole(self, key: str, value: object, most: int, least: int = 1) -> int | None:
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        return self._wrong(key, value, f"must be a whole number from {least} to {most}", otherwise=None)

    def _items(self, key: str, least: int, most: int) -> list[object]:
        value = self._get(key)
        if not isinstance(value, list):
            return self._wrong(key, value, "must be a list", otherwise=[])
        if len(value) < least:
            self.note(key, f"must have at least {least}.")
        if len(value) > most:
            return self._wrong(key, value, f"has {len(value)} rows; {most} is the most", otherwise=[])
        return value

    def _entry(self, key: str, value: object) -> "Entry | None":
        if isinstance(value, Mapping):
            return Entry(value, self.head, self._at(key), self.problems)
        return self._wrong(key, value, "must be a mapping of keys and values", otherwise=None)


def _is_control(one: str) -> bool:
    return one in _TURNS or (category(one) in ("Cc", "Cs", "Cn") and one not in "\t\n\r")


def _taken_for(value: object) -> str:
    """What YAML takes a text without quotes for, where it is easily mistaken."""
    if isinstance(value, bool):
        return "; put true and false between quotes"
    if isinstance(value, int | float):
        return "; put a number between quotes"
    return ""
