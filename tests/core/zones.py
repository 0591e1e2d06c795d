"""Time zones as the pinned ``tzdata`` package has them; the machine's own files may be older."""

from functools import cache
from importlib.resources import files
from zoneinfo import ZoneInfo


@cache
def pinned_zone(name: str) -> ZoneInfo:
    """The zone of an IANA name."""
    with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as data:
        return ZoneInfo.from_file(data, key=name)
