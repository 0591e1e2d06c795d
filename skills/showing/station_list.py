"""The gym's stations, told: what they are, for how many, how their bars stand, what they serve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from athletes.models import Gym
from skills.models import WorkPlace
from skills.queries.bars import place_of
from skills.showing.bar_list import stands_words
from skills.showing.lengths import Lengths
from skills.showing.plan_words import counted


@dataclass(frozen=True, slots=True)
class PlaceTold:
    """One station in words; `only` names the steps that it serves, none for all of its kind."""

    place_id: UUID
    name: str
    what: str
    bar: str
    spot_from: str
    only: tuple[str, ...]


def told_places(gym: Gym, places: Sequence[WorkPlace]) -> list[PlaceTold]:
    """Tell these stations, which come with bars and steps; no query."""
    lengths = Lengths(gym.units)
    return [
        PlaceTold(
            place_id=place.id,
            name=place.name,
            what=f"{place.get_kind_display()}, {counted(place.capacity, 'person', 'people')} at a time",
            bar=f"{place.bar.name}: {stands_words(place_of(place.bar), lengths)}" if place.bar else "",
            spot_from=place.spot_from,
            only=tuple(f"{link.step.label} {link.step.name}" for link in place.served.all()),
        )
        for place in places
    ]
