"""What may be called a hold, and how its length is written."""

import re
from decimal import ROUND_DOWN, Decimal
from typing import Final

# The men's artistic gymnastics Code of Points (2025-2028) has static elements held for 2 s.
HOLD_FLOOR_TENTHS: Final = 20
LONGEST_SECONDS: Final = 3600

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")


class HoldLengthError(ValueError):
    """A length that cannot be that of a hold; the message is a sentence for the person who typed it."""


def cut_to_tenths(seconds: Decimal | str | int) -> int:
    """Return the whole tenths in ``seconds``: cut, never rounded up, so that 19.99 s is 199 tenths.

    Raises HoldLengthError for what is no finite number, negative, or longer than an hour.
    """
    exact = _exact(seconds)
    if exact < 0:
        raise HoldLengthError(f"A hold cannot last {seconds} s: the length is negative.")
    if exact > LONGEST_SECONDS:
        raise HoldLengthError(f"A hold of {seconds} s is longer than an hour: check the length.")
    return int(exact.quantize(Decimal("0.1"), rounding=ROUND_DOWN).scaleb(1))


def needed_tenths(asked_tenths: int) -> int:
    """Return how long a hold must really last for a rule that asks for a length: never under the floor."""
    return max(asked_tenths, HOLD_FLOOR_TENTHS)


def is_hold(hold_tenths: int | None) -> bool:
    """Whether a stored length may be called a hold at all."""
    return hold_tenths is not None and hold_tenths >= HOLD_FLOOR_TENTHS


def _exact(seconds: object) -> Decimal:
    """A float is refused on purpose: what the device measured comes as text or as a whole number."""
    if isinstance(seconds, int) and not isinstance(seconds, bool):
        return Decimal(seconds)
    if isinstance(seconds, Decimal) and seconds.is_finite():
        return seconds
    if isinstance(seconds, str) and _NUMBER.fullmatch(seconds.strip()):
        return Decimal(seconds.strip())
    raise HoldLengthError(f"{seconds!r} is not a length in seconds: write a number such as 12.5.")
