"""Our own placing: parts put down one after another on a set of blanks, keeping every rule.

Each part goes to the corner of its region of possible places (`nesting.nofit`) that a policy
likes best: bottom-left placing over no-fit polygons (Burke and others, Operations Research 54,
2006) with turns, flips, holes, pinned parts and joints.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

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
from nesting.nofit import Board, NoFit, corners, make_shape
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
    """A blank to be filled: kind of sheet (index) and how many of it."""

    kind: int
    sheets: int


@dataclass(frozen=True)
class Policy:
    """What makes a place good: weights of the part's far end along and across the blank."""

    along: float = 1.0
    across: float = 0.02
    avoid_joints: bool = True


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
        self.specs, self.kinds, self.rules = tuple(specs), kinds, rules
        self.boards = []
        self.joints: list[tuple[Joint, ...]] = []
        for spec in specs:
            sheet = kinds[spec.kind]
            lines = joint_lines(spec.sheets, sheet, rules)
            r = reach(rules)
            self.boards.append(
                Board(
                    length_of(spec.sheets, sheet, rules),
                    sheet.width,
                    rules.margin,
                    tuple((a - r, b + r) for a, b in lines),
                    nofit,
                )
            )
            self.joints.append(tuple(Joint(a, b) for a, b in lines))
        self.part_joints: list[tuple[FlatPart, PartJoint]] = []
        self.placements: list[list[Placement]] = [[] for _ in specs]

    def put(self, board: int, piece: Piece, way: Way, x: float, y: float, pinned: bool) -> None:
        """Lay a piece down and note its joints."""
        self.boards[board].lay(way.shape, x, y)
        placement = Placement(piece.part.name, piece.copy, x, y, way.rotation, way.mirrored, pinned)
        self.placements[board].append(placement)
        if self.joints[board]:
            for joint in crossing(piece.part, placement, self.joints[board], self.rules):
                self.part_joints.append((piece.part, joint))

    def best_place(
        self, board: int, piece: Piece, policy: Policy, *, off_joints: bool, stagger: bool = True
    ) -> tuple[float, Way, float, float] | None:
        """The best place on one blank: (score, way, x, y), lower scores better; None if none."""
        here = self.boards[board]
        best: tuple[float, Way, float, float] | None = None
        for way in piece.ways[self.specs[board].kind]:
            region = here.region(way.shape)
            if region.is_empty:
                continue
            low, _, high, top = way.shape.bounds
            if here.joints:
                if off_joints:
                    region = here.off_joints(region, low, high)
                else:
                    bans = way.bans
                    if stagger:
                        bans = bans + stagger_bans(
                            piece.part,
                            piece.copy,
                            way.rotation,
                            way.mirrored,
                            self.part_joints,
                            self.rules.stagger,
                        )
                    for ban in bans:
                        region = here.off_joints(region, ban.low, ban.high)
            if region.is_empty:
                continue
            points = corners(region)
            score = (
                policy.along * (points[:, 0] + high) / 1000.0
                + policy.across * (points[:, 1] + top) / 1000.0
            )
            i = int(np.argmin(score + 1e-7 * points[:, 1] + 1e-8 * points[:, 0]))
            if best is None or score[i] < best[0] - 1e-9:
                best = (float(score[i]), way, float(points[i, 0]), float(points[i, 1]))
        return best


def pin(floor: Floor, board: int, piece: Piece, placement: Placement) -> None:
    """Lay a pinned part exactly where it must stay."""
    shape = make_shape(
        turn(polygon_of(piece.part), placement.rotation, placement.mirrored),
        floor.rules.clearance,
    )
    bans = bans_of(piece.part, placement.rotation, placement.mirrored, frozenset())
    way = Way(placement.rotation, placement.mirrored, shape, bans)
    floor.put(board, piece, way, placement.x, placement.y, True)


def fill(
    floor: Floor, order: Sequence[Piece], policies: Sequence[Policy], progress: Progress
) -> Filled:
    """Lay pieces in order, each on the first blank that takes it; policies are by blank.

    A piece that fits a single sheet is kept off joints if any blank allows that.
    """
    unplaced = []
    for piece in order:
        if not _lay_one(floor, piece, policies, progress):
            unplaced.append(piece)
    return Filled(floor.specs, floor.placements, unplaced)


def _lay_one(floor: Floor, piece: Piece, policies: Sequence[Policy], progress: Progress) -> bool:
    for off_joints in (False,) if piece.long else (True, False):
        for board in range(len(floor.boards)):
            if off_joints is False and not piece.long and not floor.boards[board].joints:
                continue
            progress.check()
            policy = policies[board]
            place = floor.best_place(board, piece, policy, off_joints=off_joints)
            if place is not None:
                floor.put(board, piece, *place[1:], False)
                return True
    return False
