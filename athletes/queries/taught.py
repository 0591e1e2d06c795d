"""Which skills a gym teaches: told by the app that knows them, which stands above this one."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from athletes.models import Gym

Teller = Callable[[Gym], Mapping[str, str]]
_tellers: list[Teller] = []


def taught_as_told_by(teller: Teller) -> None:
    """Have `skills_taught` ask this function, once at the start: names by slug, in the gym's own order."""
    if teller not in _tellers:
        _tellers.append(teller)


def skills_taught(gym: Gym) -> Mapping[str, str]:
    """Return the names of the gym's skills by their slugs, in the gym's own order; one query."""
    return {slug: name for teller in _tellers for slug, name in teller(gym).items()}
