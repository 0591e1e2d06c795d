"""Whether a text names somebody whom the gym knows."""

from __future__ import annotations

import re
from collections.abc import Iterable


def whole_words(words: Iterable[str]) -> re.Pattern[str]:
    """Return what finds any of these words or names as a whole, in capitals or not."""
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, words))})(?!\w)", re.IGNORECASE)


def is_findable(name: str) -> bool:
    """Whether a name has more than one word: 'Li' alone would be found in half of all texts."""
    return len(name.split()) > 1


def names_somebody(text: str, names: Iterable[str]) -> bool:
    """Whether a text has one of these full names in it, with any number of blanks between its words."""
    findable = [" ".join(name.split()) for name in names if is_findable(name)]
    return bool(findable) and whole_words(findable).search(" ".join(text.split())) is not None
