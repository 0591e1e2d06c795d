"""When something happened, of what a device's two clocks say. All moments are whole microseconds.

A device has a wall clock, which may be wrong by hours and may be set at any time, and a monotonic one, which counts
from the loading of its page and may stand still while the device sleeps. Each act carries both clocks at the touch;
each sending of acts (the envelope) carries both at that instant. No hold's length is ever made of these.
"""

from dataclasses import dataclass
from typing import Final

AGREE_US: Final = 2_000_000  # what a request is on its way for, and how far a clock may drift in a class
_MS: Final = 1000


@dataclass(frozen=True, slots=True)
class ActClocks:
    """The device's clocks at the touch; ``offset_us`` is the server's minus the wall clock as known then, or None."""

    wall_us: int
    mono_us: int
    life: str  # which loading of the page the monotonic clock counts from
    offset_us: int | None = None


@dataclass(frozen=True, slots=True)
class EnvelopeClocks:
    """The device's clocks at the sending."""

    wall_us: int
    mono_us: int
    life: str


def happened_at(act: ActClocks, envelope: EnvelopeClocks, received_us: int) -> tuple[int, int]:
    """Return the moment of an act by the server's clock, and its distance from ``act.wall_us`` in milliseconds.

    - Where the clock's distance from the server is still what it was known to be at the touch, that distance: it is
      the sharper one, as the way of this sending stands in what is read now.
    - In one life of the page, where both clocks agree on the act's age: as long ago as they say.
    - In one life otherwise, the monotonic age: the wall clock was set meanwhile.
    - In another life, the distance as known at the touch, else that of now.
    """
    us = _moment(act, envelope, received_us)
    return us, _in_ms(us - act.wall_us)


def _moment(act: ActClocks, envelope: EnvelopeClocks, received_us: int) -> int:
    offset_now_us = received_us - envelope.wall_us
    is_same_life = act.life == envelope.life
    mono_age_us = envelope.mono_us - act.mono_us
    wall_age_us = envelope.wall_us - act.wall_us
    if act.offset_us is not None and _agree(act.offset_us, offset_now_us):
        return act.wall_us + act.offset_us
    if is_same_life and _agree(wall_age_us, mono_age_us):
        return received_us - wall_age_us
    if is_same_life:
        return received_us - mono_age_us
    return act.wall_us + (offset_now_us if act.offset_us is None else act.offset_us)


def _agree(one_us: int, other_us: int) -> bool:
    return abs(one_us - other_us) <= AGREE_US


def _in_ms(us: int) -> int:
    """Return whole milliseconds, the nearest; a half goes up."""
    return (us + _MS // 2) // _MS
