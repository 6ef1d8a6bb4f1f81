"""How often slips in tables of offsets are found, on boats of six families.

Rates in percent of tables. A slip is named when its cell is among the suspects, named first when it
is the strongest; a candidate is the true value when it is within half a step of the figure typed
before the slip.
"""

import time
from collections.abc import Iterator
from statistics import median

from lofting.lengths import Notation
from lofting.offsets import TypedTable, read_table
from lofting.slips import Slips, find_slips
from tests.generators.hulls import Boat
from tests.generators.typing_slips import Planted, boats, corner, exchange, plant, shift_row

MM, EIGHTHS = Notation.MILLIMETRES, Notation.FEET_INCHES_EIGHTHS
Figure = tuple[str, float, str]


def found_in(typed: TypedTable, boat: Boat) -> Slips:
    """What is found in a table of the boat."""
    return find_slips(read_table(typed, boat.conventions), boat.conventions)


def rank_of_true(slips: Slips, slip: Planted) -> int | None:
    """Place of the true value among the slip's candidates; None where it is not there."""
    for suspect in slips.suspects:
        if (suspect.line, suspect.point, suspect.coordinate) == slip.place:
            for place, candidate in enumerate(suspect.candidates):
                if abs(candidate.value - slip.true) <= 0.51:
                    return place
    return None


def places(slips: Slips) -> list[tuple[str, str, str]]:
    """The cells named, strongest first."""
    return [(s.line, s.point, s.coordinate) for s in slips.suspects]


def clean(count: int, seed: int, notation: Notation, noise: float) -> float:
    """Percent of tables without a slip in which nothing is suspect."""
    quiet = sum(
        not found_in(boat.typed, boat).suspects
        for _, boat in boats(count, seed, notation=notation, noise=noise)
    )
    return 100 * quiet / count


def one_slip(
    count: int, seed: int, notation: Notation, *, least: float, where: str, noise: float
) -> dict[str, float]:
    """Rates for one slip a table, in percent."""
    hits = dict.fromkeys(("named", "named first", "true value first", "true among three"), 0)
    others = 0
    for rng, boat in boats(count, seed, notation=notation, noise=noise):
        typed, slip = plant(rng, boat, least=least, where=where)
        slips = found_in(typed, boat)
        named = places(slips)
        rank = rank_of_true(slips, slip)
        hits["named"] += slip.place in named
        hits["named first"] += named[:1] == [slip.place]
        hits["true value first"] += rank == 0
        hits["true among three"] += rank is not None and rank < 3
        others += any(place != slip.place for place in named)
    rates = {name: 100 * hit / count for name, hit in hits.items()}
    return rates | {"another cell named too": 100 * others / count}


def three_slips(count: int, seed: int, notation: Notation) -> float:
    """Percent of tables with three slips (8 mm and more, interior) in which all are named."""
    whole = 0
    for rng, boat in boats(count, seed, notation=notation):
        typed, planted = boat.typed, ()
        for _ in range(3):
            typed, slip = plant(rng, boat, least=8, typed=typed, apart_from=planted)
            planted += (slip.place,)
        whole += set(planted) <= set(places(found_in(typed, boat)))
    return 100 * whole / count


def exchanged(count: int, seed: int, notation: Notation) -> float:
    """Percent of tables with two figures (8 mm and more apart) exchanged, explained as such."""
    told = 0
    for rng, boat in boats(count, seed, notation=notation):
        typed, one, other = exchange(rng, boat, 8.0)
        suspects = found_in(typed, boat).suspects
        said = [s for s in suspects if s.candidates and "exchanged" in s.candidates[0].reason]
        named = {(s.line, s.point, s.coordinate) for s in said}
        told += {one.place, other.place} <= named
    return 100 * told / count


def row_shifted(count: int, seed: int, notation: Notation) -> float:
    """Percent of tables with a row shifted by one station, explained as such."""
    told = 0
    for rng, boat in boats(count, seed, notation=notation):
        typed, line, coordinate = shift_row(rng, boat)
        told += any(
            (s.line, s.coordinate) == (line, coordinate)
            and bool(s.candidates)
            and "shifted" in s.candidates[0].reason
            for s in found_in(typed, boat).suspects
        )
    return 100 * told / count


def knuckled(count: int, seed: int, notation: Notation, noise: float) -> dict[str, float]:
    """Tables of a boat with a true corner in one line that nobody marked, in percent: no cell
    named, and the corner offered at its point or beside it."""
    quiet = offered = 0
    for rng, boat in boats(count, seed, notation=notation, noise=noise):
        typed, turned = corner(rng, boat)
        slips = found_in(typed, boat)
        quiet += not slips.suspects
        order = ["bow", *(station.label for station in boat.typed.stations), "stern"]
        offered += any(
            here.line == turned.line
            and abs(order.index(here.point) - order.index(turned.point)) <= 1
            for here in slips.corners
        )
    return {"no cell named": 100 * quiet / count, "corner offered": 100 * offered / count}


def milliseconds(stations: int, lines: int, seed: int = 4) -> float:
    """Median time of one search after one changed cell, over boats of that size."""
    import numpy as np

    from tests.generators.hulls import Family, make_boat

    family = {3: Family.SKIFF, 5: Family.DINGHY}[lines]
    spent = []
    for i in range(9):
        rng = np.random.default_rng([seed, i])
        boat = make_boat(rng, family, stations=stations)
        find_slips(read_table(boat.typed, boat.conventions), boat.conventions)
        typed, _ = plant(rng, boat, least=8)
        table = read_table(typed, boat.conventions)
        begin = time.perf_counter()
        find_slips(table, boat.conventions)
        spent.append(1000 * (time.perf_counter() - begin))
    return median(spent)


def figures(count: int = 200) -> Iterator[Figure]:
    """All rates, as (name, value, unit)."""
    yield "slips, clean to 1 mm, none suspect", clean(count, 11, MM, 0.0), "%"
    yield "slips, clean to an eighth, none suspect", clean(count, 12, EIGHTHS, 0.0), "%"
    yield "slips, clean with 1.5 mm noise, none suspect", clean(count, 13, MM, 1.5), "%"
    cases = (
        ("one of 8 mm, to 1 mm", MM, 8.0, "interior", 0.0),
        ("one of 8 mm, to an eighth", EIGHTHS, 8.0, "interior", 0.0),
        ("one of 15 mm, 1.5 mm noise", MM, 15.0, "interior", 1.5),
        ("one of 25 mm at an end, to 1 mm", MM, 25.0, "end", 0.0),
        ("one of 25 mm at an end, to an eighth", EIGHTHS, 25.0, "end", 0.0),
    )
    for seed, (name, notation, least, where, noise) in enumerate(cases, 21):
        rates = one_slip(count, seed, notation, least=least, where=where, noise=noise)
        for what, rate in rates.items():
            yield f"slips, {name}, {what}", rate, "%"
    yield "slips, three of 8 mm, all named", three_slips(count, 31, MM), "%"
    yield "slips, three of 8 mm to an eighth, all named", three_slips(count, 32, EIGHTHS), "%"
    yield "slips, two exchanged, told so", exchanged(count, 41, MM), "%"
    yield "slips, row shifted, told so", row_shifted(count, 51, MM), "%"
    for seed, (name, notation, noise) in enumerate(
        (("to 1 mm", MM, 0.0), ("1.5 mm noise", MM, 1.5), ("to an eighth", EIGHTHS, 0.0)), 61
    ):
        for what, rate in knuckled(count, seed, notation, noise).items():
            yield f"slips, a corner nobody marked, {name}, {what}", rate, "%"
    yield "slips, 11 stations 3 lines", milliseconds(11, 3), "ms"
    yield "slips, 30 stations 5 lines", milliseconds(30, 5), "ms"
