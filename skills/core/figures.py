"""A number with what stands behind it, so that whoever reads it can ask where it comes from."""

from dataclasses import dataclass
from typing import Literal

from skills.core.sources import SOURCES, Source

Kind = Literal["measured", "estimate", "count"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A value as it is written, in words that need no page around them.

    `value` and `interval` are written out with their unit ("82 N·m", "79 to 86 N·m, 90 of 100"). `inputs` are
    pairs of a name and a written value; `formula` says in words how they make the value; `sources` are keys of
    `skills.core.sources`. An estimate has an interval; raises ValueError for one without, and for a source that is
    not known.
    """

    label: str
    value: str
    kind: Kind
    inputs: tuple[tuple[str, str], ...]
    formula: str
    sources: tuple[str, ...]
    interval: str = ""
    caution: str = ""

    def __post_init__(self) -> None:
        if self.kind == "estimate" and not self.interval:
            raise ValueError(f"The estimate {self.label!r} stands without its interval.")
        if unknown := [key for key in self.sources if key not in SOURCES]:
            raise ValueError(f"{self.label!r} names sources that are not known: {', '.join(unknown)}.")
        if not self.sources:
            raise ValueError(f"{self.label!r} stands without a source.")

    @property
    def cited(self) -> tuple[Source, ...]:
        """Its sources, in the order named."""
        return tuple(SOURCES[key] for key in self.sources)
