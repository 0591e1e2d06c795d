"""Lengths as panels write them, in a gym's units."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from gymtrack.lib.units import format_setting, format_size, format_span
from skills.core.body_heights import PERCENT, Height
from skills.core.set_up import Room


@dataclass(frozen=True, slots=True)
class Lengths:
    """How one gym writes lengths: what is set or measured to the millimetre, an estimate to the centimetre."""

    units: str

    def exact(self, mm: int) -> str:
        """Write what was measured or is set."""
        return format_setting(mm, self.units)

    def about(self, mm: int) -> str:
        """Write what is only about so long."""
        return format_span(mm, self.units)

    def small(self, tenths_mm: int) -> str:
        """Write the size of a small part."""
        return format_size(Decimal(tenths_mm) / 10, self.units)

    def of(self, height: Height) -> str:
        """Write a height as exactly as it is known."""
        return self.exact(height.mm) if height.measured else self.about(height.mm)

    def within(self, height: Height) -> str:
        """Write the interval of an estimate; "" for what was measured."""
        if height.measured:
            return ""
        return f"{self.between(height.low_mm, height.high_mm)}, {AMONG}"

    def between(self, low_mm: int, high_mm: int) -> str:
        """Write a range with its unit once: '111 to 120 cm'."""
        return f"{self.about(low_mm).rpartition(' ')[0]} to {self.about(high_mm)}"

    def room(self, room: Room) -> str:
        """Say what a room comes to: 'clear by 41 cm', 'too close by 9 cm', or 'may touch'."""
        if room.verdict == "unsure":
            return "may touch"
        return self._way(room.mm)

    def room_within(self, room: Room) -> str:
        """Write the interval of a room: '39 to 48 cm clear', '2 cm too close to 7 cm clear'."""
        if room.verdict == "clear":
            return f"{self.between(room.low_mm, room.high_mm)} clear, {AMONG}"
        if room.verdict == "not clear":
            return f"{self.between(-room.high_mm, -room.low_mm)} too close, {AMONG}"
        return f"{self.about(-room.low_mm)} too close to {self.about(room.high_mm)} clear, {AMONG}"

    def _way(self, mm: int) -> str:
        return f"clear by {self.about(mm)}" if mm > 0 else f"too close by {self.about(-mm)}"


AMONG: Final = f"{PERCENT} of 100 adults of this stature"
