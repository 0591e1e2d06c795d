"""Days in a gym's time zone, from the pinned ``tzdata`` package and never from the machine's own files.

Source of the rules: the IANA time zone database, in the version that the requirements pin.
"""

import re
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from importlib.resources import files
from zoneinfo import ZoneInfo

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_ZONE_NAME = re.compile(r"[A-Za-z0-9_+-]+(/[A-Za-z0-9_+-]+)*")


class UnknownZoneError(ValueError):
    """A name that is no zone of the IANA time zone database."""


@lru_cache(maxsize=65_536)
def local_date(us: int, zone: str) -> date:
    """Return the day that the gym's calendar shows at the moment ``us``."""
    return moment_of(us).astimezone(zone_named(zone)).date()


@lru_cache(maxsize=65_536)
def day_starts_us(day: date, zone: str) -> int:
    """Return the first moment of a local day.

    Where a clock change swallows midnight, that is the change itself: ``fold=0`` reads the missing
    00:00 with the offset from before the gap.
    """
    return moment_us(datetime(day.year, day.month, day.day, tzinfo=zone_named(zone), fold=0))


@cache
def zone_named(name: str) -> ZoneInfo:
    """Return the zone of an IANA name such as ``Europe/Berlin``; raises UnknownZoneError."""
    try:
        return _read_zone(name)
    except (OSError, ValueError) as error:
        sentence = f"{name!r} is not a time zone of the IANA database: write a name such as Europe/Berlin."
        raise UnknownZoneError(sentence) from error


def _read_zone(name: str) -> ZoneInfo:
    if not _ZONE_NAME.fullmatch(name):
        raise ValueError(name)
    with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as data:
        return ZoneInfo.from_file(data, key=name)


def moment_us(moment: datetime) -> int:
    """Return an aware moment as whole microseconds since 1970-01-01 UTC."""
    return (moment - _EPOCH) // _MICROSECOND


def moment_of(us: int) -> datetime:
    """Return the UTC moment of whole microseconds since 1970-01-01."""
    return _EPOCH + timedelta(microseconds=us)
