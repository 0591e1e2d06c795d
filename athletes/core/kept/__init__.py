"""What is kept, about whom, why and for how long, and what erasure does with it: one line for every table.

The page "what is kept" reads from here, and so does erasure: nothing is emptied that is not declared, and a test
fails for a table without a line or a column of text without a place in one.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from athletes.core.kept.line import ERASED, Erasing, Kept
from athletes.core.kept.log_ins import BARE_TABLES, LOG_INS
from athletes.core.kept.outside import OUTSIDE
from athletes.core.kept.people import PEOPLE
from athletes.core.kept.practice import PRACTICE
from athletes.core.kept.things import NOBODYS

__all__ = ["BARE_TABLES", "ERASED", "GROUPS", "OUTSIDE", "TABLES", "Erasing", "Kept"]

# Every table, by the label of its model.
TABLES: Final[Mapping[str, Kept]] = {**PEOPLE, **PRACTICE, **LOG_INS, **NOBODYS}

# The same in the order in which a page tells them, under a title each.
GROUPS: Final[tuple[tuple[str, Mapping[str, Kept]], ...]] = (
    ("People", PEOPLE),
    ("What is practised, decided and checked", PRACTICE),
    ("Log-ins", {**LOG_INS, "gymtrack_cache": BARE_TABLES["gymtrack_cache"]}),
)
