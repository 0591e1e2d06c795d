"""Feet, inches and pounds at the edge; metres and kilograms inside. Exact decimal arithmetic throughout.

The factors are exact by definition: 1 yd = 0.9144 m and 1 lb = 0.453 592 37 kg (international yard and pound
agreement of 1959; NIST Special Publication 811, 2008 edition, appendix B), hence 1 in = 25.4 mm.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

METRES_PER_INCH: Final = Decimal("0.0254")
MILLIMETRES_PER_INCH: Final = Decimal("25.4")
INCHES_PER_FOOT: Final = 12
KILOGRAMS_PER_POUND: Final = Decimal("0.45359237")

IMPERIAL: Final = "imperial"
_MILLIMETRE = Decimal("0.001")
_TENTH = Decimal("0.1")

_NUMBER = r"(\d{1,4}(?:[.,]\d{1,4})?)"
_METRES = re.compile(rf"{_NUMBER}\s*(?:m|metres?|meters?)?")
_CENTIMETRES = re.compile(rf"{_NUMBER}\s*(?:cm|centimetres?|centimeters?)")
_FEET = re.compile(rf"(\d)\s*(?:ft|feet|foot|'|′)(?:\s*{_NUMBER}\s*(?:in|inch|inches|\"|″|'')?)?")
_INCHES = re.compile(rf"{_NUMBER}\s*(?:in|inch|inches|\"|″)")
_KILOGRAMS = re.compile(rf"{_NUMBER}\s*(?:kg|kilos?|kilograms?)")
_POUNDS = re.compile(rf"{_NUMBER}\s*(?:lbs?|pounds?)")
_BARE = re.compile(_NUMBER)
_MILLIMETRES = re.compile(rf"{_NUMBER}\s*(?:mm|millimetres?|millimeters?)")
# Inches as they stand on tools: 2, 1.25, 5/8, 1 1/4 or 1-1/4; of a fraction the lower part is a power of two.
_PARTED_INCHES = re.compile(rf"(?:{_NUMBER}(?:\s+|-|$))?(?:(\d{{1,2}})/(2|4|8|16|32|64))?")
_SIZED_INCHES = re.compile(r"(?:(\d{1,2})\s*(?:ft|feet|foot|'|′)\s*)?(?:([\d.,/ -]+?)\s*(?:in|inch|inches|\"|″|'')?)?")


class NotAMeasure(ValueError):  # noqa: N818 (it reads as what went wrong)
    """The text is no measure that we know; the message is a sentence for the person who typed it."""


def metres_from_inches(inches: Decimal) -> Decimal:
    """Convert inches to metres, exactly."""
    return inches * METRES_PER_INCH


def inches_from_metres(metres: Decimal) -> Decimal:
    """Convert metres to inches (28 significant digits)."""
    return metres / METRES_PER_INCH


def kilograms_from_pounds(pounds: Decimal) -> Decimal:
    """Convert pounds to kilograms, exactly."""
    return pounds * KILOGRAMS_PER_POUND


def pounds_from_kilograms(kilograms: Decimal) -> Decimal:
    """Convert kilograms to pounds (28 significant digits)."""
    return kilograms / KILOGRAMS_PER_POUND


def parse_length_m(text: str) -> Decimal:
    """Read a length into metres, to the millimetre: '1.68', '1,68 m', '168 cm', '5 ft 6 in', 5'6" or '66 in'.

    A bare number is in metres. Raises NotAMeasure.
    """
    words = text.strip().lower()
    if found := _FEET.fullmatch(words):
        return _feet_and_inches_m(int(found[1]), _decimal(found[2] or "0"))
    if found := _INCHES.fullmatch(words):
        return _to(metres_from_inches(_decimal(found[1])), _MILLIMETRE)
    if found := _CENTIMETRES.fullmatch(words):
        return _to(_decimal(found[1]) / 100, _MILLIMETRE)
    if found := _METRES.fullmatch(words):
        return _to(_decimal(found[1]), _MILLIMETRE)
    raise NotAMeasure("Write a length like 1.68 m, 168 cm or 5 ft 6 in.")


def _feet_and_inches_m(feet: int, inches: Decimal) -> Decimal:
    if inches >= INCHES_PER_FOOT:
        raise NotAMeasure(f"After feet, write fewer than {INCHES_PER_FOOT} inches, like 5 ft 6 in.")
    return _to(metres_from_inches(feet * INCHES_PER_FOOT + inches), _MILLIMETRE)


def parse_size_mm(text: str) -> Decimal:
    """Read the size of a thing into millimetres, to a tenth: '50 mm', '132 cm', '1.32 m', '2 in', '1 1/4 in', 4'4".

    Without a unit it is refused: on a rig 50 may be millimetres, centimetres or inches. Raises NotAMeasure.
    """
    words = text.strip().lower()
    for pattern, millimetres in ((_MILLIMETRES, 1), (_CENTIMETRES, 10), (_METRES, 1000)):
        if (found := pattern.fullmatch(words)) and not _BARE.fullmatch(words):
            return _to(_decimal(found[1]) * millimetres, _TENTH)
    found = _SIZED_INCHES.fullmatch(words)
    inches = _inches(found[1], found[2]) if found and not words[-1:].isdigit() else None
    if inches is None:
        raise NotAMeasure("Write a length with its unit, like 50 mm, 132 cm, 2 in or 1 1/4 in.")
    return _to(inches * MILLIMETRES_PER_INCH, _TENTH)


def _inches(feet: str | None, inches: str | None) -> Decimal | None:
    parts = _PARTED_INCHES.fullmatch((inches or "").strip())
    if parts is None or not (feet or inches):
        return None
    whole, over, under = parts[1], parts[2], parts[3]
    fraction = Decimal(over) / Decimal(under) if over else Decimal(0)
    return Decimal(feet or 0) * INCHES_PER_FOOT + (_decimal(whole) if whole else 0) + fraction


def format_size(mm: Decimal, units: str) -> str:
    """Say the size of a part as '50.8 mm' or, in imperial units, '2.00 in'."""
    if units != IMPERIAL:
        return f"{_to(mm, _TENTH)} mm"
    return f"{_to(mm / MILLIMETRES_PER_INCH, Decimal('0.01'))} in"


def format_setting(mm: int, units: str) -> str:
    """Say how high a bar stands as '127.0 cm' or, in imperial units, '50.0 in'."""
    if units != IMPERIAL:
        return f"{_to(Decimal(mm) / 10, _TENTH)} cm"
    return f"{_to(mm / MILLIMETRES_PER_INCH, _TENTH)} in"


def format_span(mm: int, units: str) -> str:
    """Say a length that is only about so long as '127 cm' or, in imperial units, '50 in'; below zero with a sign."""
    whole = _to(Decimal(mm) / 10 if units != IMPERIAL else mm / MILLIMETRES_PER_INCH, Decimal(1))
    return f"{'−' if whole < 0 else ''}{abs(whole)} {'in' if units == IMPERIAL else 'cm'}"


def format_length(metres: Decimal, units: str) -> str:
    """Say a length as '1.68 m' (to the centimetre) or, in imperial units, '5 ft 6 in' (to the inch)."""
    if units != IMPERIAL:
        return f"{_to(metres, Decimal('0.01'))} m"
    feet, inches = divmod(int(_to(inches_from_metres(metres), Decimal(1))), INCHES_PER_FOOT)
    return f"{feet} ft {inches} in"


def parse_mass_kg(text: str, units: str) -> Decimal:
    """Read a mass like '61.5 kg' or '135 lb' into kilograms, to a tenth; a bare number is in the gym's units.

    Raises NotAMeasure.
    """
    words = text.strip().lower()
    bare = _BARE.fullmatch(words)
    if found := _POUNDS.fullmatch(words) or (bare if units == IMPERIAL else None):
        return _to(kilograms_from_pounds(_decimal(found[1])), _TENTH)
    if found := _KILOGRAMS.fullmatch(words) or bare:
        return _to(_decimal(found[1]), _TENTH)
    raise NotAMeasure("Write a mass like 61.5 kg or 135 lb.")


def format_mass(kilograms: Decimal, units: str) -> str:
    """Say a mass as '61.5 kg' or, in imperial units, '136 lb' (to the pound)."""
    if units != IMPERIAL:
        return f"{_to(kilograms, _TENTH)} kg"
    return f"{_to(pounds_from_kilograms(kilograms), Decimal(1))} lb"


def _decimal(digits: str) -> Decimal:
    return Decimal(digits.replace(",", "."))


def _to(value: Decimal, step: Decimal) -> Decimal:
    return value.quantize(step, ROUND_HALF_EVEN)
