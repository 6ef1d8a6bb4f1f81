"""Squeezing all pieces of one thickness into a given set of blanks by driving them apart.

Joint rules are kept by where a piece may lie at all; the stagger of neighbours' joints counts as
an overlap of the two planks. What comes out is checked like any other layout.
"""

from collections.abc import Sequence

import numpy as np

from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.apart import Choice, Heap
from nesting.joints import (
    Way,
    crossing,
    joint_lines,
    length_of,
    neighbours,
    polygon_of,
    reach,
    stagger_bans,
    turn,
)
from nesting.layout import Joint, PartJoint, Placement
from nesting.nofit import HAIR, make_shape
from nesting.overlaps import Overlaps
from nesting.placing import BlankSpec, Filled, Piece
from nesting.stock import JoiningRules, Sheet


class Squeeze:
    """Pieces on a set of blanks, some of them overlapping, and the work of driving them apart."""

    def __init__(
        self,
        specs: Sequence[BlankSpec],
        pieces: Sequence[Piece],
        kinds: Sequence[Sheet],
        rules: JoiningRules,
        overlaps: Overlaps,
        others: Sequence[tuple[FlatPart, PartJoint]],
        random: np.random.Generator,
        pinned: Sequence[tuple[BlankSpec, Piece, Placement]] = (),
    ) -> None:
        self.specs, self.pieces, self.kinds, self.rules = tuple(specs), pieces, kinds, rules
        self.least = float("inf")
        self.joints = [
            tuple(Joint(a, b) for a, b in joint_lines(s.sheets, kinds[s.kind], rules))
            for s in specs
        ]
        pins = {(p.part.name, p.copy): (spec.name, at) for spec, p, at in pinned}
        known: dict[tuple[object, ...], tuple[tuple[Choice, ...], tuple[Way, ...]]] = {}
        self.ways: list[list[tuple[Way, ...]]] = []
        choices: list[list[tuple[Choice, ...]]] = []
        for piece in pieces:
            mine = [
                (part, joint)
                for part, joint in others
                if rules.stagger > 0.0 and neighbours(piece.part, piece.copy, part, joint.copy)
            ]
            row = []
            pin = pins.get((piece.part.name, piece.copy))
            for spec in specs:
                if pin is not None:
                    row.append(_held(piece, pin[1], rules) if spec.name == pin[0] else ((), ()))
                    continue
                key = (id(piece.ways), spec.kind, spec.sheets, piece.copy if mine else -1)
                if key not in known:
                    known[key] = self._choices(piece, spec, mine)
                row.append(known[key])
            choices.append([c for c, _ in row])
            self.ways.append([w for _, w in row])
        near = [
            [
                j
                for j, other in enumerate(pieces)
                if rules.stagger > 0.0
                and j != i
                and neighbours(piece.part, piece.copy, other.part, other.copy)
            ]
            for i, piece in enumerate(pieces)
        ]
        self.near = near
        self._crossings: dict[tuple[int, int, int, float], tuple[PartJoint, ...]] = {}
        fixed = frozenset(i for i, p in enumerate(pieces) if (p.part.name, p.copy) in pins)
        self.heap = Heap(choices, overlaps, random, fixed, self if any(near) else None)

    def _choices(
        self, piece: Piece, spec: BlankSpec, others: Sequence[tuple[FlatPart, PartJoint]]
    ) -> tuple[tuple[Choice, ...], tuple[Way, ...]]:
        sheet, m = self.kinds[spec.kind], self.rules.margin - HAIR / 2
        length = length_of(spec.sheets, sheet, self.rules)
        lines = joint_lines(spec.sheets, sheet, self.rules)
        r = reach(self.rules)
        choices, ways = [], []
        for way in piece.ways[spec.kind]:
            low_x, low_y, high_x, high_y = way.shape.bounds
            box = (m - low_x, m - low_y, length - m - high_x, sheet.width - m - high_y)
            if box[2] < box[0] or box[3] < box[1]:
                continue
            bans = [(b.low, b.high) for b in way.bans]
            bans += [
                (b.low, b.high)
                for b in stagger_bans(
                    piece.part, piece.copy, way.rotation, way.mirrored, others, self.rules.stagger
                )
            ]
            closed = [(a - r - h, b + r - lo) for a, b in lines for lo, h in bans]
            free = _free(box[0], box[2], closed)
            if not free:
                continue
            shunned = () if piece.long else tuple((a - r - high_x, b + r - low_x) for a, b in lines)
            choices.append(Choice(way.shape, box, free, shunned))
            ways.append(way)
        return tuple(choices), tuple(ways)

    def closed(self, heap: Heap, part: int, blank: int, way: int) -> list[tuple[float, float, int]]:
        """Stretches of x that the joints of a piece's neighbours forbid it."""
        joints = self.joints[blank]
        if not joints or not self.near[part]:
            return []
        laid, piece = self.ways[part][blank][way], self.pieces[part]
        low_x, _, high_x, _ = laid.shape.bounds
        r = reach(self.rules)
        found = []
        for j in self.near[part]:
            told = [(self.pieces[j].part, joint) for joint in self._joints_of(heap, j)]
            for ban in stagger_bans(
                piece.part, piece.copy, laid.rotation, laid.mirrored, told, self.rules.stagger
            ):
                low, high = max(ban.low, low_x), min(ban.high, high_x)
                if low < high:
                    found += [(a.start - r - high, a.end + r - low, j) for a in joints]
        return found

    def _joints_of(self, heap: Heap, j: int) -> tuple[PartJoint, ...]:
        blank, way = heap.blank[j], heap.way[j]
        if blank < 0 or not self.joints[blank]:
            return ()
        key = (j, blank, way, float(heap.place[j, 0]))
        known = self._crossings.get(key)
        if known is None:
            if len(self._crossings) > 5000:
                self._crossings.clear()
            known = crossing(
                self.pieces[j].part, self._placement(j), self.joints[blank], self.rules
            )
            self._crossings[key] = known
        return known

    def _placement(self, i: int) -> Placement:
        heap, piece = self.heap, self.pieces[i]
        way = self.ways[i][heap.blank[i]][heap.way[i]]
        x, y = (float(v) for v in heap.place[i])
        return Placement(
            piece.part.name, piece.copy, x, y, way.rotation, way.mirrored, i in heap.fixed
        )

    def start(self, progress: Progress) -> bool:
        """Lay every piece where it is least in the way, large ones first; False if one has no way
        to lie at all."""
        heap = self.heap
        order = sorted(
            range(len(self.pieces)),
            key=lambda i: (i not in heap.fixed, not self.pieces[i].long, -self.pieces[i].area, i),
        )
        for i in order:
            progress.check()
            best = heap.best_place(i)
            if best is None:
                return False
            heap.lay(i, *best[1:])
        self.least = heap.total()
        return True

    def work(self, sweeps: int, progress: Progress) -> Filled | None:
        """Drive the pieces apart; the filling if that was reached."""
        for _ in range(sweeps):
            apart = self.heap.sweep(progress)
            self.least = min(self.least, self.heap.total())
            if apart:
                pulls = [(0.02, 1.0) if s.sheets > 1 else (1.0, 0.02) for s in self.specs]
                self.heap.draw_together(pulls, progress)
                return self.filled()
        return None

    def filled(self) -> Filled:
        """The blanks as they are laid now."""
        placements: list[list[Placement]] = [[] for _ in self.specs]
        for i in range(len(self.pieces)):
            placements[self.heap.blank[i]].append(self._placement(i))
        return Filled(self.specs, placements, [])


def _held(
    piece: Piece, placement: Placement, rules: JoiningRules
) -> tuple[tuple[Choice, ...], tuple[Way, ...]]:
    """The only way of a pinned piece."""
    polygon = turn(polygon_of(piece.part), placement.rotation, placement.mirrored)
    shape = make_shape(polygon, rules.clearance)
    x, y = placement.x, placement.y
    way = Way(placement.rotation, placement.mirrored, shape, ())
    return (Choice(shape, (x, y, x, y), ((x, x),)),), (way,)


def _free(
    low: float, high: float, closed: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """What of low..high is in none of the stretches closed."""
    free, at = [], low
    for a, b in sorted(closed):
        if a > at:
            free.append((at, min(a, high)))
        at = max(at, b)
        if at >= high:
            break
    if at <= high:
        free.append((at, high))
    return tuple((a, b) for a, b in free if a <= b)
