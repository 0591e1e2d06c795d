"""Invented classes: small ones of every shape for comparing solvers, and gyms' ones in the sizes that coaches have."""

from random import Random

from skills.core.rotation.asks import Apart, Ask, Choice, Person, Pin, Place, Station


def small(seed: int, *, people: int = 5, rotations: int = 2, stations: int = 3) -> Ask:
    """A class of at most these sizes, with all kinds of rules in it."""
    chance = Random(seed)
    places = [_station(chance, f"s{number}", seed) for number in range(chance.randint(1, stations))]
    crowd = [_person(chance, f"p{number}", places, rotations) for number in range(chance.randint(1, people))]
    keys = [person.key for person in crowd]
    pins = [Pin(chance.choice(keys), chance.randrange(rotations), chance.choice(places).key)]
    apart = [Apart(*chance.sample(keys, 2))] if len(keys) > 1 else []
    return Ask(
        tuple(crowd),
        tuple(places),
        rotations,
        coaches=chance.randint(0, 2),
        judges=chance.randint(0, 1),
        most_resets=chance.choice((0, 1, None)),
        watched_at_once=chance.randint(1, 2),
        pins=tuple(pins) if chance.random() < 0.25 else (),
        apart=tuple(apart) if chance.random() < 0.4 else (),
    )


def _station(chance: Random, key: str, seed: int) -> Station:
    adjustable = chance.random() < 0.5
    set_now = chance.choice((None, 1, 2, 3)) if adjustable and seed % 2 else None
    return Station(key, chance.randint(1, 3), adjustable, set_now)


def _person(chance: Random, key: str, stations: list[Station], rotations: int) -> Person:
    roles = chance.sample(("in_hand", "earlier", "accessory", "test"), chance.randint(1, 3))
    choices = tuple(_choice(chance, role, stations) for role in sorted(roles))
    return Person(
        key,
        choices,
        comes=chance.choice((0, 0, 0, rotations - 1)),
        goes=chance.choice((None, None, None, rotations - 1)),
        had=((0, 1),) if chance.random() < 0.2 else (),
        idled=chance.choice((0, 0, 1)),
    )


def _choice(chance: Random, role, stations: list[Station]) -> Choice:
    inverted = role != "accessory" and chance.random() < 0.4
    places: list[Place] = []
    for station in chance.sample(stations, chance.randint(1, len(stations))):
        if station.adjustable:
            fits = chance.randint(1, 3)
            places += [Place(station.key, hole, fits - hole) for hole in {fits, max(1, fits - 1)}]
        else:
            places.append(Place(station.key))
    spotters = chance.choice((0, 1, 1, 2)) if inverted else 0
    return Choice(f"{role}-{chance.randint(1, 2)}", role, tuple(sorted(places)), spotters, inverted)


# ---- Gyms' classes --------------------------------------------------------------------------------------

_OTHERS = ("high", "high", "rings", "floor", "box", "floor", "high", "rings")
_SIZE = {"high": 2, "rings": 2, "floor": 4, "box": 3}


def gyms(seed: int, *, people: int, rotations: int, stations: int, adjustable: int, most_resets: int | None = 1) -> Ask:
    """A class as gyms have them: low bars that are set to the chest, few high bars, floor and boxes for the rest.

    Chest heights are spread over the holes of a rack like statures are (a normal law, two holes of 50 mm as its
    deviation), and the lower of two holes will do.
    """
    chance = Random(seed)
    more = (people > 16) + 2 * (people > 30)
    bars = [Station(f"low-{number}", chance.choice((2, 3)), adjustable=True) for number in range(adjustable)]
    others = [
        Station(f"{kind}-{number}", _SIZE[kind] + more)
        for number, kind in zip(range(stations - adjustable), _OTHERS, strict=False)
    ]
    at = _Gym(bars + others)
    crowd = tuple(Person(f"p{number:02}", at.choices(chance)) for number in range(people))
    return Ask(crowd, tuple(bars + others), rotations, coaches=1 if people < 20 else 2, most_resets=most_resets)


class _Gym:
    def __init__(self, stations: list[Station]) -> None:
        self.stations = stations

    def choices(self, chance: Random) -> tuple[Choice, ...]:
        """What somebody of a random level and height may do."""
        hole = max(2, min(19, round(chance.gauss(10, 2.2))))
        hand, earlier = self._level(chance, hole)
        more = [self._at("hollow", "accessory", "floor"), self._at("step-up", "accessory", "box")]
        if chance.random() < 0.5:
            more.append(self._at("ring-row", "accessory", "rings"))
        if chance.random() < 0.15:
            more.append(Choice(hand.step, "test", hand.places))
        return tuple(choice for choice in (hand, earlier, *more) if choice.places)

    def _level(self, chance: Random, hole: int) -> tuple[Choice, Choice]:
        level = chance.random()
        if level < 0.4:
            held = chance.random() < 0.4
            return self._at("low-pull", "in_hand", "low", hole, spotters=int(held), inverted=held), self._at(
                "tuck", "earlier", "high"
            )
        if level < 0.6:
            return self._at("tuck", "in_hand", "high"), self._at("row", "earlier", "low", hole)
        if level < 0.75:
            return self._at("legs", "in_hand", "high"), self._at("tuck", "earlier", "high")
        if level < 0.88:
            over = self._at("pullover", "in_hand", "high", spotters=1, inverted=True)
            return over, self._at("low-pull", "earlier", "low", hole, inverted=True)
        return self._at("ring-hold", "in_hand", "rings"), self._at("chest-pull", "earlier", "high")

    def _at(self, step: str, role, kind: str, hole: int | None = None, **more) -> Choice:
        places = []
        for station in self.stations:
            if station.key.startswith(kind):
                if station.adjustable and hole:
                    places += [Place(station.key, hole - lower, lower) for lower in (1, 0)]
                else:
                    places.append(Place(station.key))
        return Choice(step, role, tuple(sorted(places)), **more)
