"""Names and ages."""

from __future__ import annotations

from calendar import isleap
from datetime import date


def initials(full_name: str) -> str:
    """Return initials of a name in any script: 'Ana Lind' gives 'A. L.', '王小明' gives '王.'; '?' without a name."""
    letters = [word[0].upper() for word in full_name.split() if word[0].isalpha()]
    return " ".join(f"{letter}." for letter in letters[:3]) or "?"


def age_years(birth_on: date, on: date) -> int:
    """Return the completed years of age on a day; who was born on 29 February ages on 1 March in other years."""
    had_birthday = (on.month, on.day) >= (birth_on.month, birth_on.day)
    return on.year - birth_on.year - (0 if had_birthday else 1)


def last_birth_on_of(years: int, on: date) -> date:
    """Return the latest birth date of who has completed that many years of age on a day.

    On 29 February that is 28 February where the year of birth has no 29th.
    """
    year = on.year - years
    day = 28 if (on.month, on.day) == (2, 29) and not isleap(year) else on.day
    return date(year, on.month, day)
