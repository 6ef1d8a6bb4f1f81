"""Our own placing: parts put down one after another on a set of blanks, keeping every rule.

Each part goes to the corner of its region of possible places (`nesting.nofit`) that a policy
likes best: bottom-left placing over no-fit polygons (Burke and others, Operations Research 54,
2006) with turns, flips, holes, pinned parts and joints.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from lofting.parts import FlatPart
from lofting.progress import Progress
from nesting.joints import (
    Way,
    bans_of,
    crossing,
    joint_lines,
    length_of,
    polygon_of,
    reach,
    stagger_bans,
    turn,
)
from nesting.layout import Joint, PartJoint, Placement
from nesting.nofit import Ban, Board, NoFit, corners, make_shape
from nesting.stock import JoiningRules, Sheet


@dataclass(frozen=True, eq=False)
class Piece:
    """One copy of a part to be placed.

    Attributes:
        ways: for each kind of sheet (index), the ways it may lie on it.
        long: it fits no single sheet.
    """

    part: FlatPart
    copy: int
    ways: tuple[tuple[Way, ...], ...]
    area: float
    long: bool = False


@dataclass(frozen=True)
class BlankSpec:
    """A blank to be filled: kind of sheet (index), how many of it, a name it must keep."""

    kind: int
    sheets: int
    name: str = ""


@dataclass(frozen=True)
class Policy:
    """What makes a place good: weights of the part's far end along and across the blank."""

    along: float = 1.0
    across: float = 0.02


@dataclass(eq=False)
class Filled:
    """A set of blanks with what was laid on each, and what found no place."""

    specs: tuple[BlankSpec, ...]
    placements: list[list[Placement]]
    unplaced: list[Piece] = field(default_factory=list)

    @property
    def missing(self) -> float:
        """Area that found no place, mm2."""
        return sum(piece.area for piece in self.unplaced)


class Floor:
    """The blanks being filled, with the joints the parts got so far."""

    def __init__(
        self,
        specs: Sequence[BlankSpec],
        kinds: Sequence[Sheet],
        rules: JoiningRules,
        nofit: NoFit,
    ) -> None:
        self.kinds, self.rules, self.nofit = kinds, rules, nofit
        self.specs: list[BlankSpec] = []
        self.boards: list[Board] = []
        self.joints: list[tuple[Joint, ...]] = []
        self.room: list[float] = []
        self.part_joints: list[tuple[FlatPart, PartJoint]] = []
        self.placements: list[list[Placement]] = []
        for spec in specs:
            self.open(spec)

    def copy(self) -> "Floor":
        """The same blanks as filled so far, to be filled on another way."""
        other = Floor((), self.kinds, self.rules, self.nofit)
        other.specs = list(self.specs)
        other.boards = [board.copy() for board in self.boards]
        other.joints = list(self.joints)
        other.room = list(self.room)
        other.part_joints = list(self.part_joints)
        other.placements = [list(laid) for laid in self.placements]
        return other

    def open(self, spec: BlankSpec) -> int:
        """Add an empty blank; returns its number."""
        sheet = self.kinds[spec.kind]
        lines = joint_lines(spec.sheets, sheet, self.rules)
        r = reach(self.rules)
        length = length_of(spec.sheets, sheet, self.rules)
        lines_with_straps = tuple((a - r, b + r) for a, b in lines)
        board = Board(length, sheet.width, self.rules.margin, lines_with_straps, self.nofit)
        self.specs.append(spec)
        self.boards.append(board)
        self.joints.append(tuple(Joint(a, b) for a, b in lines))
        m = self.rules.margin
        self.room.append((length - 2 * m) * (sheet.width - 2 * m))
        self.placements.append([])
        return len(self.boards) - 1

    def put(self, board: int, piece: Piece, way: Way, x: float, y: float, pinned: bool) -> None:
        """Lay a piece down and note its joints."""
        self.boards[board].lay(way.shape, x, y)
        self.room[board] -= piece.area
        placement = Placement(piece.part.name, piece.copy, x, y, way.rotation, way.mirrored, pinned)
        self.placements[board].append(placement)
        if self.joints[board]:
            for joint in crossing(piece.part, placement, self.joints[board], self.rules):
                self.part_joints.append((piece.part, joint))

    def best_place(
        self,
        board: int,
        piece: Piece,
        policy: Policy,
        *,
        off_joints: bool,
        toward: float | None = None,
    ) -> tuple[float, Way, float, float] | None:
        """The best place on one blank: (score, way, x, y), lower scores better; None if none.

        toward: mm along the blank near which the part's middle should lie; without it the part
        is drawn to the datum end.
        """
        here = self.boards[board]
        if piece.area > self.room[board] + 1.0:
            return None
        best: tuple[float, Way, float, float] | None = None
        for way in piece.ways[self.specs[board].kind]:
            region = here.region(way.shape)
            low, _, high, top = way.shape.bounds
            if here.joints and not region.is_empty:
                bans = () if off_joints else way.bans + self.staggers(piece, way)
                stretches = [(low, high)] if off_joints else [(b.low, b.high) for b in bans]
                region = here.off_joints(region, stretches)
            if region.is_empty:
                continue
            points = corners(region)
            x, y = points[:, 0], points[:, 1]
            along = x + high if toward is None else np.abs(x + (low + high) / 2 - toward)
            score = (policy.along * along + policy.across * (y + top)) / 1000.0
            i = int(np.argmin(score + 1e-7 * y + 1e-8 * x))
            if best is None or score[i] < best[0] - 1e-9:
                best = (float(score[i]), way, float(x[i]), float(y[i]))
        return best

    def staggers(self, piece: Piece, way: Way) -> tuple[Ban, ...]:
        """Stretches of a way of laying a piece where its neighbours' joints forbid another."""
        if not self.part_joints:
            return ()
        return stagger_bans(
            piece.part,
            piece.copy,
            way.rotation,
            way.mirrored,
            self.part_joints,
            self.rules.stagger,
        )


def pin(floor: Floor, board: int, piece: Piece, placement: Placement) -> None:
    """Lay a pinned part exactly where it must stay."""
    polygon = turn(polygon_of(piece.part), placement.rotation, placement.mirrored)
    shape = make_shape(polygon, floor.rules.clearance)
    bans = bans_of(piece.part, placement.rotation, placement.mirrored, frozenset())
    way = Way(placement.rotation, placement.mirrored, shape, bans)
    floor.put(board, piece, way, placement.x, placement.y, True)


def fill(
    floor: Floor,
    order: Sequence[Piece],
    policies: Sequence[Policy],
    progress: Progress,
    openings: "Openings | None" = None,
) -> Filled:
    """Lay pieces in order, each on the first blank that takes it; policies are by blank.

    A piece that fits a single sheet is kept off joints if any blank allows that. With
    `openings` a new blank is opened for a piece that finds no place.
    """
    unplaced = []
    for piece in order:
        if lay_one(floor, piece, policies, progress):
            continue
        if openings is None or not openings.lay_on_new(floor, piece):
            unplaced.append(piece)
    return Filled(tuple(floor.specs), floor.placements, unplaced)


def lay_one(floor: Floor, piece: Piece, policies: Sequence[Policy], progress: Progress) -> bool:
    """Lay a piece on the first blank that takes it, off joints if any blank allows that."""
    for off_joints in (False,) if piece.long else (True, False):
        for board in range(len(floor.boards)):
            if not off_joints and not piece.long and not floor.boards[board].joints:
                continue
            progress.check()
            policy = policies[board] if board < len(policies) else usual_policy(floor.specs[board])
            place = floor.best_place(board, piece, policy, off_joints=off_joints)
            if place is not None:
                floor.put(board, piece, *place[1:], False)
                return True
    return False


def usual_policy(spec: BlankSpec) -> Policy:
    """Long blanks are filled from the datum edge up, single sheets from the datum end on."""
    return Policy(0.02, 1.0) if spec.sheets > 1 else Policy(1.0, 0.02)


@dataclass(eq=False)
class Openings:
    """What blanks may still be opened: sheets left of each kind (None: as many as needed)."""

    left: list[int | None]
    order: Sequence[int]

    def lay_on_new(self, floor: Floor, piece: Piece) -> bool:
        """Open the shortest blank that takes the piece, of the first kind that has enough."""
        for sheets in range(1, floor.rules.most_sheets + 1):
            for kind in self.order:
                left = self.left[kind]
                if left is not None and left < sheets:
                    continue
                spec = BlankSpec(kind, sheets)
                probe = Floor((spec,), floor.kinds, floor.rules, floor.nofit)
                probe.part_joints = floor.part_joints
                place = probe.best_place(0, piece, usual_policy(spec), off_joints=False)
                if place is None:
                    continue
                if left is not None:
                    self.left[kind] = left - sheets
                floor.put(floor.open(spec), piece, *place[1:], False)
                return True
        return False


def without_needless_joints(
    filled: Filled,
    kinds: Sequence[Sheet],
    rules: JoiningRules,
    parts: Mapping[str, FlatPart],
) -> Filled:
    """The same layout with every joint that no part needs left out: the blank falls in two.

    No part needs a joint if each lies wholly on the sheets left of it or wholly on those right of
    it, margins kept (sheets overlap at a scarf, so a part may lie in the overlap of either).
    """
    specs: list[BlankSpec] = []
    placements: list[list[Placement]] = []
    m = rules.margin - 1e-5
    for spec, laid in zip(filled.specs, filled.placements, strict=True):
        rest = list(laid)
        shift, sheets = 0.0, spec.sheets
        lines = joint_lines(spec.sheets, kinds[spec.kind], rules)
        name = spec.name
        first = 0
        for k, (start, end) in enumerate(lines, start=1):
            left, right = [], []
            for p in rest:
                across = p.lay(np.asarray(parts[p.part].outline))[:, 0]
                low, high = float(across.min()), float(across.max())
                if high <= end - m:
                    left.append(p)
                elif low >= start + m:
                    right.append(p)
                else:
                    break
            else:
                if any(p.pinned for p in right):
                    continue
                if left:
                    specs.append(BlankSpec(spec.kind, k - first, name))
                    placements.append([replace(p, x=p.x - shift) for p in left])
                    name = ""
                rest, shift, first = right, start, k
                sheets = spec.sheets - k
        if rest:
            specs.append(BlankSpec(spec.kind, sheets, name))
            placements.append([replace(p, x=p.x - shift) for p in rest])
    return Filled(tuple(specs), placements, filled.unplaced)
