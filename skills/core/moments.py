"""A date and time as somebody types it, on the clock of the gym."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, Literal

from athletes.core.zones import zone_named
from skills.core.days import moment_of, moment_us

Oddness = Literal["", "earlier", "later", "skipped"]
FIRST_YEAR: Final = 1970
_WRITTEN = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?")


class MomentError(ValueError):
    """No moment that can be asked about; the message is a sentence for the person who typed it."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A moment, and what is odd about its hour.

    ``earlier`` or ``later``: the clocks went back and showed it twice. ``skipped``: they went forward past it, and
    the moment is the one as long after the change.
    """

    us: int
    oddness: Oddness = ""


def moment_asked(text: str, zone: str, now_us: int, *, earlier: bool = False) -> Asked:
    """Read '2026-11-03T18:30' (seconds and a fraction allowed) on the clock of a time zone; raises MomentError.

    Of an hour that came twice the later one is taken, so that nothing of the night is left out, or the
    ``earlier`` one. What lies ahead cannot be asked about.
    """
    written = _written(text.strip())
    asked = _placed(written, zone, earlier=earlier)
    if asked.us > now_us:
        raise MomentError("This moment lies ahead: choose one that has been.")
    return asked


def written_moment(us: int, zone: str) -> str:
    """Return a moment to the second as `moment_asked` reads it."""
    return moment_of(us).astimezone(zone_named(zone)).strftime("%Y-%m-%dT%H:%M:%S")


def _written(text: str) -> datetime:
    try:
        written = datetime.fromisoformat(text) if _WRITTEN.fullmatch(text) else None
    except ValueError:
        written = None
    if written is None:
        raise MomentError("This is no date and time: write it like 2026-11-03T18:30.")
    if written.year < FIRST_YEAR:
        raise MomentError(f"This is too long ago: the books begin in {FIRST_YEAR} at the earliest.")
    return written


def _placed(written: datetime, zone: str, *, earlier: bool) -> Asked:
    first = written.replace(tzinfo=zone_named(zone), fold=0)
    second = first.replace(fold=1)
    if first.utcoffset() == second.utcoffset():
        return Asked(moment_us(first))
    if first.astimezone(UTC).astimezone(first.tzinfo).replace(tzinfo=None) != written:
        return Asked(moment_us(first), "skipped")
    return Asked(moment_us(first), "earlier") if earlier else Asked(moment_us(second), "later")
