"""Time zones, from the pinned `tzdata` package and never from the machine's own files.

Two machines with other editions of the rules would otherwise disagree about days.
Source of the rules: the IANA time zone database, in the edition that the requirements pin.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from zoneinfo import ZoneInfo

_ZONE_NAME = re.compile(r"[A-Za-z0-9_+-]+(/[A-Za-z0-9_+-]+)*")


class UnknownZoneError(ValueError):
    """A name that is no zone of the IANA time zone database."""


@cache
def zone_named(name: str) -> ZoneInfo:
    """Return the zone of an IANA name such as `Europe/Berlin`; raises UnknownZoneError."""
    try:
        return _read_zone(name)
    except (OSError, ValueError) as error:
        sentence = f"{name!r} is not a time zone of the IANA database: write a name such as Europe/Berlin."
        raise UnknownZoneError(sentence) from error


@cache
def zone_names() -> frozenset[str]:
    """Return the names of all zones."""
    return frozenset(files("tzdata").joinpath("zones").read_text(encoding="ascii").split())


def _read_zone(name: str) -> ZoneInfo:
    if not _ZONE_NAME.fullmatch(name):
        raise ValueError(name)
    with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as data:
        return ZoneInfo.from_file(data, key=name)
