"""A layout made easier to mark and kinder to the offcuts, with the same blanks and sheets.

On every blank the long parts stay, and the others are laid again in a few orders: of all layouts
the one is kept whose offcut is the largest rectangle reaching into a far corner of the blank, and
of those with as large a one that with most length of parts' straight sides on the datum edge.
Blanks that carry the same parts are laid alike, so that one table marks both and a stacked pair
can be sawn at once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.joints import Way
from nesting.layout import PartJoint, Placement
from nesting.nofit import NoFit
from nesting.placing import BlankSpec, Filled, Floor, Piece, Policy
from nesting.stock import JoiningRules, Sheet

POLICIES = (Policy(1.0, 0.02), Policy(1.0, 0.3), Policy(0.02, 1.0))

FEW = 24
"""Parts on a blank up to which other orders are tried."""

ON_EDGE = 0.5
"""mm off the datum margin within which a side still lies along it."""


def neaten(
    filled: Filled,
    pieces: Sequence[Piece],
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    nofit: NoFit,
    others: Sequence[tuple[FlatPart, PartJoint]],
    progress: Progress,
) -> Filled:
    """The same blanks with the same parts, laid more neatly where that was found. Blanks with
    pinned parts stay as they are. others: joints of parts laid elsewhere."""
    index = {(p.part.name, p.copy): p for p in pieces}
    placements = [list(laid) for laid in filled.placements]
    for b, spec in enumerate(filled.specs):
        if any(p.pinned for p in placements[b]):
            continue
        twin = _twin(b, filled.specs, placements, index)
        if twin is not None:
            placements[b] = _alike(placements[twin], placements[b])
            continue
        mine = [index[p.part, p.copy] for p in placements[b]]
        if len(mine) > FEW:
            continue
        best = _neatness(placements[b], spec, index, kinds, rules)
        joints = list(others) + _joints_elsewhere(b, filled.specs, placements, index, kinds, rules)
        for trial in _others(spec, placements[b], mine, kinds, rules, nofit, joints, progress):
            worth = _neatness(trial, spec, index, kinds, rules)
            if worth > best:
                placements[b], best = trial, worth
    return Filled(filled.specs, placements, filled.unplaced)


def _others(
    spec: BlankSpec,
    laid: Sequence[Placement],
    mine: Sequence[Piece],
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    nofit: NoFit,
    joints: Sequence[tuple[FlatPart, PartJoint]],
    progress: Progress,
) -> list[list[Placement]]:
    """Other layouts of a blank, its long parts and those across a joint where they are."""
    found = []
    start = Floor((spec,), kinds, rules, nofit)
    start.part_joints += joints
    loose: list[Piece] = []
    for piece, p in zip(mine, laid, strict=True):
        way = way_of(piece, spec.kind, p)
        crosses = False
        if way is not None:
            low, high = p.x + way.shape.bounds[0], p.x + way.shape.bounds[2]
            crosses = any(a < high and b > low for a, b in start.boards[0].joints)
        if piece.long or crosses:
            if way is None:
                return []
            start.put(0, piece, way, p.x, p.y, False)
        else:
            loose.append(piece)
    by_area = sorted(loose, key=lambda p: (-p.area, p.part.name, p.copy))
    by_side = sorted(loose, key=lambda p: (-_side(p, spec.kind), p.part.name, p.copy))
    by_place = [p for p, q in sorted(zip(mine, laid, strict=True), key=lambda t: t[1].x)
                if any(p is piece for piece in loose)]  # fmt: skip
    for order in (by_area, by_side, by_place):
        for policy in POLICIES:
            progress.check()
            floor = start.copy()
            for piece in order:
                place = floor.best_place(0, piece, policy, off_joints=True)
                if place is None:
                    break
                floor.put(0, piece, *place[1:], False)
            else:
                found.append(floor.placements[0])
    return found


def way_of(piece: Piece, kind: int, placement: Placement) -> Way | None:
    """The way in which a piece was laid, None if it is none of its ways."""
    for way in piece.ways[kind]:
        off = (way.rotation - placement.rotation + np.pi) % (2 * np.pi) - np.pi
        if abs(off) < 1e-9 and way.mirrored == placement.mirrored:
            return way
    return None


def _side(piece: Piece, kind: int) -> float:
    x0, y0, x1, y1 = piece.ways[kind][0].shape.bounds
    return max(x1 - x0, y1 - y0)


def _joints_elsewhere(
    b: int,
    specs: Sequence[BlankSpec],
    placements: Sequence[Sequence[Placement]],
    index: Mapping[tuple[str, int], Piece],
    kinds: Sequence[Sheet],
    rules: JoiningRules,
) -> list[tuple[FlatPart, PartJoint]]:
    """Joints of parts on the other blanks, from which this one's keep their stagger."""
    found: list[tuple[FlatPart, PartJoint]] = []
    for other, spec in enumerate(specs):
        if other == b or spec.sheets < 2:
            continue
        floor = Floor((spec,), kinds, rules, NoFit())
        for p in placements[other]:
            piece = index[p.part, p.copy]
            way = way_of(piece, spec.kind, p)
            if way is not None:
                floor.put(0, piece, way, p.x, p.y, False)
        found += floor.part_joints
    return found


def _neatness(
    laid: Sequence[Placement],
    spec: BlankSpec,
    index: Mapping[tuple[str, int], Piece],
    kinds: Sequence[Sheet],
    rules: JoiningRules,
) -> tuple[float, float]:
    """Area of the largest corner offcut in dm2 (a smaller difference is none), and mm of sides
    on the datum edge."""
    floor = Floor((spec,), kinds, rules, NoFit())
    length, width = floor.boards[0].length, floor.boards[0].width
    boxes, edge = [], 0.0
    for p in laid:
        outline = p.lay(np.asarray(index[p.part, p.copy].part.outline))
        boxes.append((*outline.min(axis=0), *outline.max(axis=0)))
        low = outline[:, 1] <= rules.margin + ON_EDGE
        follows = low & np.roll(low, -1)
        edge += float(np.abs(np.roll(outline[:, 0], -1) - outline[:, 0])[follows].sum())
    if not boxes:
        return (0.0, 0.0)
    _, y0, x1, y1 = np.array(boxes).T
    best = 0.0
    for cut in (0.0, *x1):  # the offcut reaches from x = cut to the blank's end
        beyond = x1 > cut + 1e-6
        top = width - float(y1[beyond].max(initial=0.0))
        bottom = float(y0[beyond].min(initial=width))
        best = max(best, (length - cut) * max(top, bottom))
    return (round(best / 1e4), edge)


def _twin(
    b: int,
    specs: Sequence[BlankSpec],
    placements: Sequence[Sequence[Placement]],
    index: Mapping[tuple[str, int], Piece],
) -> int | None:
    """An earlier blank of the same sheets with the same parts that may lie in the same ways."""
    mine = sorted((p.part, id(index[p.part, p.copy].ways)) for p in placements[b])
    for a in range(b):
        if (specs[a].kind, specs[a].sheets) == (specs[b].kind, specs[b].sheets) and mine == sorted(
            (p.part, id(index[p.part, p.copy].ways)) for p in placements[a]
        ):
            return a
    return None


def _alike(model: Sequence[Placement], laid: Sequence[Placement]) -> list[Placement]:
    """The copies of `laid` in the places of `model`, copies of each part in the same order."""
    copies: dict[str, list[int]] = {}
    for p in sorted(laid, key=lambda p: p.copy):
        copies.setdefault(p.part, []).append(p.copy)
    found = []
    for p in sorted(model, key=lambda p: p.copy):
        found.append(replace(p, copy=copies[p.part].pop(0), pinned=False))
    return found
