"""The same class in a second solver (OR-Tools CP-SAT), written plainly: a Boolean for everybody, everywhere, always."""

from collections import defaultdict
from itertools import pairwise

from ortools.sat.python import cp_model

from skills.core.rotation.asks import Ask


def best_worth(ask: Ask) -> int | None:
    """What the best plan is worth, proved; None where no plan keeps the rules."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model_of(ask))
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL
    return round(solver.objective_value)


def model_of(ask: Ask) -> cp_model.CpModel:
    """The class as that solver takes it."""
    model = cp_model.CpModel()
    seats = {
        (key, rotation, number, place): model.new_bool_var("")
        for key, person in ask.person.items()
        for rotation in range(ask.rotations)
        if person.present(rotation)
        for number, choice in enumerate(person.choices)
        for place in choice.places
    }
    total = [*_people(model, ask, seats), *_bars(model, ask, seats)]
    _stations(model, ask, seats)
    _words(model, ask, seats)
    model.maximize(sum(total))
    return model


def _people(model, ask, seats):
    weights = ask.weights
    for key, person in ask.person.items():
        there = [rotation for rotation in range(ask.rotations) if person.present(rotation)]
        for rotation in there:
            model.add_at_most_one(v for (who, when, *_), v in seats.items() if (who, when) == (key, rotation))
        doings = defaultdict(list)
        for (who, rotation, number, place), v in seats.items():
            if who == key:
                choice = person.choices[number]
                doings[choice.role, choice.step].append(v)
                worth = weights.practising - weights.misfit * place.misfit
                yield v * (worth - weights.late_inversion * rotation * choice.inverted)
        for (role, step), placed in doings.items():
            had = sum(
                times
                for number, times in person.had
                if (person.choices[number].role, person.choices[number].step) == (role, step)
            )
            if role == "test":
                model.add(sum(placed) <= max(0, 1 - had))
            gains = [sum(weights.again(role, had + more) for more in range(n)) for n in range(len(placed) + 1)]
            yield _looked_up(model, sum(placed), gains)
        mine = [v for (who, *_), v in seats.items() if who == key]
        last = len(weights.idle_again) - 1
        costs = [
            -sum(weights.idle_again[min(person.idled + more, last)] for more in range(n)) for n in range(len(there) + 1)
        ]
        yield _looked_up(model, len(there) - sum(mine), costs)


def _looked_up(model, place, values):
    index = model.new_int_var(0, len(values) - 1, "")
    value = model.new_int_var(min(values), max(values), "")
    model.add(index == place)
    model.add_element(index, values, value)
    return value


def _bars(model, ask, seats):
    changes = []
    for station in ask.stations:
        if not station.adjustable:
            continue
        holes = sorted({place.hole for *_, place in seats if place.station == station.key} | {station.hole} - {None})
        if not (holes := [hole for hole in holes if hole is not None]):
            continue
        at = [model.new_int_var_from_domain(cp_model.Domain.from_values(holes), "") for _ in range(ask.rotations)]
        for (_, rotation, _, place), v in seats.items():
            if place.station == station.key:
                model.add(at[rotation] == place.hole).only_enforce_if(v)
        line = at if station.hole is None else [station.hole, *at]
        for before, after in pairwise(line):
            changed = model.new_bool_var("")
            model.add(after == before).only_enforce_if(changed.negated())
            changes.append(changed)
    if ask.most_resets is not None:
        model.add(sum(changes) <= ask.most_resets)
    for changed in changes:
        yield -ask.weights.reset * changed


def _stations(model, ask, seats):
    for rotation in range(ask.rotations):
        posts = []
        for station in ask.stations:
            here = [
                (ask.person[key].choices[number], v)
                for (key, when, number, place), v in seats.items()
                if (when, place.station) == (rotation, station.key)
            ]
            model.add(sum(v for _, v in here) <= station.capacity)
            spots, watches = (model.new_int_var(0, most, "") for most in (ask.coaches, ask.judges))
            posts.append((spots, watches))
            model.add(sum(choice.spotters * v for choice, v in here) <= spots)
            model.add(sum(v for choice, v in here if choice.role == "test") <= ask.watched_at_once * watches)
            for choice, v in here:
                if choice.inverted:
                    model.add(spots + watches >= 1).only_enforce_if(v)
        model.add(sum(spots + watches for spots, watches in posts) <= ask.coaches)
        model.add(sum(watches for _, watches in posts) <= ask.judges)


def _words(model, ask, seats):
    for pin in ask.pins:
        model.add(
            sum(
                v
                for (key, rotation, _, place), v in seats.items()
                if (key, rotation, place.station) == (pin.person, pin.rotation, pin.station)
            )
            == 1
        )
    for pair in ask.apart:
        for rotation in range(ask.rotations):
            for station in ask.stations:
                both = [
                    v
                    for (key, when, _, place), v in seats.items()
                    if key in {pair.one, pair.other} and (when, place.station) == (rotation, station.key)
                ]
                model.add(sum(both) <= 1)
