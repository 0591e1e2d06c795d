"""Reading one mapping of a written criterion, field by field, noting every problem with its place."""

import re
import reprlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

MOST_TENTHS: Final = 36_000  # an hour
_SECONDS = re.compile(r"([0-9]{1,5})(?:\.([0-9])0*)?")
_LONGEST_SHOWN_BITS: Final = 64


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong at one place of a written criterion; the path is such as ``all[1].holds.seconds``."""

    path: str
    sentence: str
    never: bool = False  # it can be read, and can never be met

    def __str__(self) -> str:
        return f"{self.path}: {self.sentence}" if self.path else self.sentence


@dataclass(slots=True)
class Fields:
    """The fields of one mapping; a field that cannot be read leaves a problem and yields a stand-in."""

    data: Mapping[object, object]
    path: str
    problems: list[Problem]
    _read: list[str] = field(default_factory=list)

    def whole(self, key: str, *, default: int | None = None, least: int = 1, most: int = 1000) -> int:
        """Read a whole number; without a default it must be there."""
        value = self._value(key, default)
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self._refuse(key, value, f"Write a whole number from {least} to {most}")
        return least

    def whole_or_none(self, key: str, *, most: int = 1000) -> int | None:
        """Read a whole number that may be left out or written as null."""
        self._read.append(key)
        return None if self.data.get(key) is None else self.whole(key, most=most)

    def one_of(self, key: str, numbers: Collection[int], default: int) -> int:
        """Read one of a few whole numbers."""
        value = self._value(key, default)
        if isinstance(value, int) and not isinstance(value, bool) and value in numbers:
            return value
        self._refuse(key, value, f"Write one of {', '.join(map(str, numbers))}")
        return default

    def tenths(self, key: str) -> int:
        """Read a length in seconds with at most one decimal, as tenths."""
        value = self._value(key, None)
        tenths = _tenths(value)
        if tenths is not None and 1 <= tenths <= MOST_TENTHS:
            return tenths
        self._refuse(key, value, f"Write seconds from 0.1 to {MOST_TENTHS // 10}, with at most one decimal")
        return 1

    def tenths_or_zero(self, key: str) -> int:
        """Read a length in seconds that may be left out or written as null, as tenths; 0 = left out."""
        self._read.append(key)
        return 0 if self.data.get(key) is None else self.tenths(key)

    def flag(self, key: str, *, default: bool) -> bool:
        """Read a yes or no."""
        value = self._value(key, default)
        if isinstance(value, bool):
            return value
        self._refuse(key, value, "Write true or false")
        return default

    def codes(self, key: str, default: Collection[str], allowed: Collection[str] = ()) -> frozenset[str]:
        """Read a list of one or more words, from among the allowed ones if any are given."""
        value = self._value(key, sorted(default))
        words = _words(value)
        if words and (not allowed or words <= {*allowed}):
            return words
        choice = f" from {', '.join(allowed)}" if allowed else ""
        self._refuse(key, value, f"Write a list of one or more words{choice}")
        return frozenset(default)

    def one_of_two(self, first: str, second: str) -> str | None:
        """Return which of two keys is written; exactly one must be."""
        self._read += [first, second]
        if (first in self.data) == (second in self.data):
            self.note("", f"Write either {first} or {second}.")
            return None
        return first if first in self.data else second

    def anything(self, key: str) -> object:
        """Return what is written under a key, whatever it is; None if nothing is."""
        return self._value(key, None)

    def note(self, key: str, sentence: str, *, never: bool = False) -> None:
        """Note a problem at a field, or with an empty key at the mapping itself; `never`: it can be read, not met."""
        self.problems.append(Problem(f"{self.path}.{key}" if key else self.path, sentence, never))

    def refuse_unknown(self) -> None:
        """Note every key that nobody read."""
        known = ", ".join(sorted({*self._read}))
        for key in self.data:
            if key not in self._read:
                self.note(str(key), f"This key is not known here; the keys are {known}.")

    def _value(self, key: str, default: object) -> object:
        self._read.append(key)
        return self.data.get(key, default)

    def _refuse(self, key: str, value: object, rule: str) -> None:
        self.note(key, f"{rule}, not {shown(value)}." if key in self.data else f"This is missing. {rule}.")


def shown(value: object) -> str:
    """Return a value as a sentence can show it, however long it is."""
    if isinstance(value, int) and value.bit_length() > _LONGEST_SHOWN_BITS:
        return "so large a number"
    return reprlib.repr(value)


def _words(value: object) -> frozenset[str]:
    """Return the words of a list, or none of them when something in it is no word."""
    words = value if isinstance(value, list | tuple) else ()
    return frozenset(words) if all(isinstance(word, str) and word for word in words) else frozenset()


def _tenths(value: object) -> int | None:
    """Exact: a float stands for the shortest decimal that writes it, and no float is reckoned with."""
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
        return None
    if isinstance(value, int):
        return value * 10
    text = value if isinstance(value, str) else format(Decimal(str(value)), "f")
    found = _SECONDS.fullmatch(text)
    return int(found[1]) * 10 + int(found[2] or "0") if found else None
