"""Moments in whole microseconds, and the days of a gym's time zone that they lie in."""

from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

from athletes.core.zones import zone_named

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


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


def day_end(moment: datetime, zone: str) -> datetime:
    """Return the first moment of the next local day, in UTC."""
    return moment_of(day_starts_us(moment.astimezone(zone_named(zone)).date() + timedelta(days=1), zone))


def moment_us(moment: datetime) -> int:
    """Return an aware moment as whole microseconds since 1970-01-01 UTC."""
    return (moment - _EPOCH) // _MICROSECOND


def moment_of(us: int) -> datetime:
    """Return the UTC moment of whole microseconds since 1970-01-01."""
    return _EPOCH + timedelta(microseconds=us)
