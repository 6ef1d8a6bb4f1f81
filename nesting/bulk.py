"""Many parts on many sheets: one sheet filled after another, each as full as several tries make it.

A week of a router shop is too many parts to be searched as a whole in a minute, but a sheet holds
only some ten of them. So a sheet gets the largest part that is left and then others in an order
drawn at random, large ones sooner, each laid where it fits; of several such fillings the fullest
is kept. A part counts with its own area and that of its convex hull, so that open frames, which
take much room and fill little of it, are not left to the end, and nest into each other. Then the
thinnest sheet is taken apart again and again, each time with a few others, until it is empty.
"""

import time
from collections.abc import Sequence

import numpy as np

from lofting.progress import Progress
from nesting.nofit import NoFit
from nesting.placing import BlankSpec, Filled, Floor, Piece, Policy
from nesting.stock import JoiningRules, Sheet

MANY = 60
"""Parts from which sheets are filled one by one."""

REFUSED = 14
"""Parts in a row that found no place after which a sheet is full enough in a try; the smallest
parts are tried nevertheless."""

TAKEN = 2
"""Sheets taken apart with the thinnest one."""

POLICIES = (Policy(1.0, 0.02), Policy(0.02, 1.0), Policy(1.0, 0.3))


def fill_sheets(
    kind: int,
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    pieces: Sequence[Piece],
    nofit: NoFit,
    seed: int,
    tries: int,
    deadline: float,
    progress: Progress,
) -> Filled:
    """Single sheets of one kind filled one after another with pieces that fit such a sheet, each
    the fullest of so many tries (one, once the deadline has passed)."""
    random = np.random.default_rng(seed)
    pool = sorted(pieces, key=lambda p: (-_spread(p, kind), p.part.name, p.copy))
    most = kinds[kind].at_hand
    done = Filled((), [])
    specs: list[BlankSpec] = []
    while pool and (most is None or len(specs) < most):
        best: tuple[float, Floor, set[int]] | None = None
        share = max(
            1.0, sum(p.area for p in pool) / (0.75 * kinds[kind].length * kinds[kind].width)
        )
        end = time.perf_counter() + (deadline - time.perf_counter()) / share
        for number in range(max(1, tries)):
            progress.check()
            if best is not None and time.perf_counter() >= end:
                break
            floor = Floor((BlankSpec(kind, 1),), kinds, rules, nofit)
            laid = _fill_one(floor, _order(pool, random, number), number, progress)
            area = sum(_worth(p, kind) for p in pool if id(p) in laid)
            if best is None or area > best[0] + 1.0:
                best = (area, floor, laid)
        assert best is not None
        if not best[2]:
            break
        specs.append(BlankSpec(kind, 1))
        done.placements.append(best[1].placements[0])
        pool = [p for p in pool if id(p) not in best[2]]
    return Filled(tuple(specs), done.placements, pool)


def thin_out(
    filled: Filled,
    kind: int,
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    pieces: Sequence[Piece],
    nofit: NoFit,
    seed: int,
    tries: int,
    deadline: float,
    progress: Progress,
) -> Filled:
    """The same pieces with the thinnest single sheets of one kind emptied as far as `tries` goes:
    each takes the thinnest sheet and two others apart and fills them again. What else is in
    `filled` (joined blanks, other kinds, sheets with pinned parts) stays as it is."""
    random = np.random.default_rng(seed)
    index = {(p.part.name, p.copy): p for p in pieces}
    specs, placements = list(filled.specs), [list(laid) for laid in filled.placements]
    for _ in range(tries):
        progress.check()
        sheets = [
            i
            for i, (spec, laid) in enumerate(zip(specs, placements, strict=True))
            if spec.kind == kind and spec.sheets == 1 and not any(p.pinned for p in laid)
        ]
        if len(sheets) < 2 or time.perf_counter() >= deadline:
            break
        worth = {i: sum(_worth(index[p.part, p.copy], kind) for p in placements[i]) for i in sheets}
        thinnest = min(sheets, key=lambda i: worth[i])
        others = [i for i in sheets if i != thinnest]
        keys = random.random(len(others)) * [worth[i] for i in others]
        taken = [thinnest, *(others[int(k)] for k in np.argsort(keys)[:TAKEN])]
        loose = [index[p.part, p.copy] for i in taken for p in placements[i]]
        again = fill_sheets(
            kind, kinds, rules, loose, nofit, int(random.integers(2**31)), 8, deadline, progress
        )
        if again.unplaced or len(again.specs) > len(taken):
            continue
        new = [sum(_worth(index[p.part, p.copy], kind) for p in laid) for laid in again.placements]
        if len(again.specs) == len(taken) and min(new) > worth[thinnest] + 1.0:
            continue
        kept = [i for i in range(len(specs)) if i not in taken]
        specs = [specs[i] for i in kept] + list(again.specs)
        placements = [placements[i] for i in kept] + again.placements
    return Filled(tuple(specs), placements, filled.unplaced)


def _worth(piece: Piece, kind: int) -> float:
    return piece.area + _spread(piece, kind)


def _spread(piece: Piece, kind: int) -> float:
    """Area of the convex hull: what an open frame keeps others from."""
    return piece.ways[kind][0].shape.spread


def _order(pool: Sequence[Piece], random: np.random.Generator, number: int) -> list[Piece]:
    """The largest first, then the others as they come (first try) or shuffled, large ones sooner;
    the smallest at the end."""
    if number == 0:
        return list(pool)
    keys = random.random(len(pool)) + np.linspace(0.0, 1.2, len(pool))
    keys[0] = -1.0
    return [pool[int(i)] for i in np.argsort(keys)]


def _fill_one(floor: Floor, order: Sequence[Piece], number: int, progress: Progress) -> set[int]:
    laid: set[int] = set()
    refused: set[int] = set()
    in_a_row = 0
    policy = POLICIES[number % len(POLICIES)]
    small = 4.0 * min(p.area for p in order)
    for piece in order:
        if id(piece.ways) in refused or piece.area > floor.room[0]:
            continue
        if in_a_row > REFUSED and piece.area > small:
            continue
        progress.check()
        place = floor.best_place(0, piece, policy, off_joints=True)
        if place is None:
            refused.add(id(piece.ways))
            in_a_row += 1
            continue
        in_a_row = 0
        floor.put(0, piece, *place[1:], False)
        laid.add(id(piece))
    return laid
