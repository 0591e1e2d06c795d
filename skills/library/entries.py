"""One mapping of a skill file, read key by key; what is wrong is written down with its place."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

_Value = TypeVar("_Value")
_NOTED = object()  # stands for a value whose absence has been written down already
_CODE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(slots=True)
class Entry:
    """A mapping at a place.

    Every method adds a problem when its key is missing or wrong, and gives a harmless value of its type.
    ``head`` names file and step ("swing.yaml, step swing-1"), ``path`` the key inside it ("faults[2]").
    """

    data: Mapping[object, object]
    head: str
    path: str
    problems: list[str]
    _known: set[str] = field(default_factory=set)

    def note(self, key: str, sentence: str) -> None:
        """Write down what is wrong with ``key``."""
        self.problems.append(f"{self.head}, {self._at(key)}: {sentence}")

    def text(self, key: str) -> str:
        """A text that is not empty."""
        return self._text(key, self._get(key))

    def text_or_none(self, key: str) -> str | None:
        """A text, or None where the file says null."""
        value = self._get(key, null=True)
        return None if value is None else self._text(key, value)

    def code(self, key: str) -> str:
        """Small letters, digits and single hyphens."""
        code = self.text(key)
        if code and not _CODE.fullmatch(code):
            self.note(key, f"“{code}” is not a code; use small letters, digits and single hyphens.")
        return code

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self._get(key)
        if isinstance(value, bool):
            return value
        return self._wrong(key, value, "must be true or false", otherwise=False)

    def whole(self, key: str) -> int:
        """A whole number from 1."""
        return self._whole(key, self._get(key)) or 1

    def whole_or_none(self, key: str) -> int | None:
        """A whole number from 1, or None where the file says null."""
        value = self._get(key, null=True)
        return None if value is None else self._whole(key, value)

    def texts(self, key: str, *, least: int = 0) -> tuple[str, ...]:
        """A list of texts, at least ``least`` of them."""
        return tuple(self._text(f"{key}[{n}]", item) for n, item in enumerate(self._items(key, least)))

    def words(self, key: str, allowed: Sequence[str]) -> tuple[str, ...]:
        """A list of different words out of ``allowed``."""
        words = self.texts(key)
        for word in words:
            if word and word not in allowed:
                self.note(key, f"“{word}” is not one of {', '.join(allowed)}.")
        self.refuse_twice(key, words)
        return words

    def entries(self, key: str, *, least: int = 0) -> tuple["Entry", ...]:
        """A list of mappings, at least ``least`` of them; the first is ``key[0]``."""
        found = (self._entry(f"{key}[{n}]", item) for n, item in enumerate(self._items(key, least)))
        return tuple(entry for entry in found if entry is not None)

    def entry(self, key: str) -> "Entry | None":
        """A mapping of its own under ``key``."""
        return self._entry(key, self._get(key))

    def raw(self, key: str) -> Mapping[str, object]:
        """A mapping whose keys are texts, as it stands in the file."""
        value = self._get(key)
        if isinstance(value, Mapping) and value and all(isinstance(name, str) for name in value):
            return {str(name): item for name, item in value.items()}
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

    def _text(self, key: str, value: object) -> str:
        if isinstance(value, str) and value.strip():
            return " ".join(value.split())
        return self._wrong(key, value, "must be a text that is not empty", otherwise="")

    def _whole(self, key: str, value: object) -> int | None:
        if isinstance(value, int) and not isinstance(value, bool) and value >= 1:
            return value
        return self._wrong(key, value, "must be a whole number, 1 or more", otherwise=None)

    def _items(self, key: str, least: int) -> list[object]:
        value = self._get(key)
        if not isinstance(value, list):
            return self._wrong(key, value, "must be a list", otherwise=[])
        if len(value) < least:
            self.note(key, f"must have at least {least}.")
        return value

    def _entry(self, key: str, value: object) -> "Entry | None":
        if isinstance(value, Mapping):
            return Entry(value, self.head, self._at(key), self.problems)
        return self._wrong(key, value, "must be a mapping of keys and values", otherwise=None)
