"""Long parts made otherwise than from long blanks: cut in pieces from single sheets and joined
afterwards (piece first), or butted and backed by straps (butt strap)."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from lofting.findings import Finding, Severity
from lofting.parts import BevelRun, FlatPart, Mark, MarkKind
from nesting.joints import boat_x, neighbours, overlap, part_x, polygon_of
from nesting.layout import Cut, PartJoint
from nesting.stock import JoiningRules, Sheet

Array = NDArray[np.float64]

STEP = 5.0
"""mm between the places tried for a joint: nobody cuts a scarf nearer than that."""

CORNER = 0.25
"""rad an outline turns at a point before a batten can no longer be sprung round it."""

SHORT_OF_EDGE = 20.0
"""mm a butt strap stops short of each edge to leave room for fillet and chine log (common
practice, no source)."""


@dataclass(frozen=True, eq=False)
class Made:
    """What became of the parts.

    Attributes:
        parts: all parts to lay, pieces in place of what was cut. extra: those of them that are
            pieces or straps. cuts: which piece is what stretch of which part.
        joints: the joints on the whole parts.
    """

    parts: tuple[FlatPart, ...]
    extra: tuple[FlatPart, ...] = ()
    cuts: tuple[Cut, ...] = ()
    joints: tuple[PartJoint, ...] = ()
    findings: tuple[Finding, ...] = ()


def cut_long_parts(parts: Sequence[FlatPart], stock: Sequence[Sheet], rules: JoiningRules) -> Made:
    """Cut every part that is too long for one sheet into the fewest pieces, each with its scarf,
    joints clear of the stretches of the part and staggered from its neighbours'."""
    usable = {id(part): _usable(part, stock, rules) for part in parts}
    long = [part for part in parts if usable[id(part)] > 0.0]
    leans = islice(product((0, -1, 1), repeat=len(long)), 243)
    best: tuple[tuple[float, ...], list[tuple[list[float], Finding | None]]] | None = None
    for lean in leans:
        planned: list[tuple[FlatPart, PartJoint]] = []
        places = []
        for part, way in zip(long, lean, strict=True):
            lap = overlap(part.thickness, rules)
            found = joint_places(part, usable[id(part)], lap, planned, rules, way)
            places.append(found)
            planned += [(part, joint) for joint in _joints(part, found[0], lap)]
        joints = sum(
            len(starts) * part.quantity for part, (starts, _) in zip(long, places, strict=True)
        )
        given_up = sum(finding is not None for _, finding in places)
        worth = (given_up, joints, float(sum(map(abs, lean))))
        if best is None or worth < best[0]:
            best = (worth, places)
        if worth[0] == 0 and joints <= sum(
            part.quantity * _least_joints(part, usable[id(part)], rules) for part in long
        ):
            break
    chosen = {} if best is None else {id(p): place for p, place in zip(long, best[1], strict=True)}
    laid: list[FlatPart] = []
    extra: list[FlatPart] = []
    cuts: list[Cut] = []
    told: list[PartJoint] = []
    findings: list[Finding] = []
    for part in parts:
        starts, finding = chosen.get(id(part), ([], None))
        lap = overlap(part.thickness, rules)
        pieces = _cut(part, starts, lap) if starts else None
        if pieces is None:
            laid.append(part)
            continue
        if finding is not None:
            findings.append(finding)
        for piece, cut in pieces:
            laid.append(piece)
            extra.append(piece)
            cuts.append(cut)
        told += _joints(part, starts, lap)
    return Made(tuple(laid), tuple(extra), tuple(cuts), tuple(told), tuple(findings))


def _joints(part: FlatPart, starts: Sequence[float], lap: float) -> list[PartJoint]:
    return [
        PartJoint(part.name, copy, s, s + lap, s + lap if lap else None, True)
        for copy in range(part.quantity)
        for s in starts
    ]


def _usable(part: FlatPart, stock: Sequence[Sheet], rules: JoiningRules) -> float:
    """Longest piece of a part that a sheet gives, 0 if the part need not or must not be cut."""
    kinds = [s for s in stock if (s.material, s.thickness) == (part.material, part.thickness)]
    length, height = np.ptp(np.asarray(part.outline), axis=0)
    along = abs(np.sin(part.grain)) < 1e-6
    free = part.grain_turn > 1.5
    best = 0.0
    for kind in kinds:
        a, b = kind.length - 2 * rules.margin, kind.width - 2 * rules.margin
        if kind.grain_across:
            a, b = b, a
        if (length <= a and height <= b and (along or free)) or (
            length <= b and height <= a and (not along or free)
        ):
            return 0.0
        if along or free:
            best = max(best, a if height <= b else 0.0)
    return best if part.may_join else 0.0


def _least_joints(part: FlatPart, usable: float, rules: JoiningRules) -> int:
    length = float(np.ptp(np.asarray(part.outline)[:, 0]))
    lap = overlap(part.thickness, rules)
    return max(1, ceil((length - usable) / (usable - lap) - 1e-9))


def joint_places(
    part: FlatPart,
    usable: float,
    lap: float,
    others: Iterable[tuple[FlatPart, PartJoint]],
    rules: JoiningRules,
    lean: int = 0,
) -> tuple[list[float], Finding | None]:
    """Starts of the fewest joints (x on the part) that make pieces no longer than `usable`.

    Of all legal places those nearest to equal pieces, or with `lean` -1 or 1 those nearest to the
    bow or the stern. If none is legal, the stagger is given up
    first, then the stretches of the part, with a finding.
    """
    beside = [
        (float(a), float(b))
        for other, joint in others
        if neighbours(part, 0, other, joint.copy) and rules.stagger > 0
        for a, b in [_around(part, other, joint, rules.stagger)]
    ]
    own = [(k.start, k.end) for k in part.keep_clear]
    for given_up, bans in (("", own + beside), ("stagger", own), ("keep clear", [])):
        starts = _fewest(part, usable, lap, bans, lean)
        if starts:
            if not given_up:
                return starts, None
            rule = given_up
            if given_up == "keep clear":
                hit = [
                    k.reason
                    for k in part.keep_clear
                    if any(s < k.end and s + lap > k.start for s in starts)
                ]
                rule = hit[0] if hit else "stagger"
            return starts, Finding(
                Severity.LOOK,
                "joint-in-bad-place",
                {"part": part.name, "rule": rule},
                f"The joint rules of {part.name} cannot all be met with pieces of one sheet; the "
                f"rule given up is: {rule}.",
                "Look whether the joint is backed there, or use longer sheets.",
            )
    return [], None


def _around(
    part: FlatPart, other: FlatPart, joint: PartJoint, stagger: float
) -> tuple[float, float]:
    span = np.sort(boat_x(other, np.array([joint.start, joint.end])))
    low, high = np.sort(part_x(part, span + (-stagger, stagger)))
    return float(low), float(high)


def _fewest(
    part: FlatPart, usable: float, lap: float, bans: Sequence[tuple[float, float]], lean: int
) -> list[float]:
    """Dynamic programming over places every STEP mm: fewest joints, then nearest to equal."""
    x = np.asarray(part.outline)[:, 0]
    low, high = float(x.min()), float(x.max())
    grid = np.arange(low + STEP, high - lap - STEP, STEP)
    edges = [v for a, b in bans for v in (a - lap, b) if low < v < high - lap]
    grid = np.unique(np.concatenate([grid, edges])) if edges else grid
    free = np.ones(len(grid), dtype=bool)
    for a, b in bans:
        free &= (grid >= b - 1e-9) | (grid + lap <= a + 1e-9)
    grid = grid[free]
    if not len(grid):
        return []
    for count in range(1, 12):
        ideal = low + (high - low - lap) * np.arange(1, count + 1) / (count + 1)
        ideal = ideal + lean * (high - low)
        costs = np.where(grid + lap - low <= usable + 1e-6, (grid - ideal[0]) ** 2, np.inf)
        came: list[NDArray[np.intp]] = []
        for k in range(1, count):
            gap = grid[None, :] - grid[:, None]
            step = np.where((gap > lap + STEP) & (gap + lap <= usable + 1e-6), 0.0, np.inf)
            total = costs[:, None] + step
            came.append(np.argmin(total, axis=0))
            costs = total.min(axis=0) + (grid - ideal[k]) ** 2
        costs = np.where(high - grid <= usable + 1e-6, costs, np.inf)
        last = int(np.argmin(costs))
        if np.isfinite(costs[last]):
            path = [last]
            for back in reversed(came):
                path.append(int(back[path[-1]]))
            return [float(grid[i]) for i in reversed(path)]
    return []


def _cut(part: FlatPart, starts: Sequence[float], lap: float) -> list[tuple[FlatPart, Cut]] | None:
    """The pieces, or None if a cut would leave more than one scrap."""
    polygon = polygon_of(part)
    x0, y0, x1, y1 = polygon.bounds
    firsts, lasts = [x0, *starts], [*(s + lap for s in starts), x1]
    pieces = []
    for number, (a, b) in enumerate(zip(firsts, lasts, strict=True), start=1):
        scrap = polygon.intersection(shapely.box(a, y0 - 1, b, y1 + 1))
        if not isinstance(scrap, Polygon):
            return None
        scrap = shapely.orient_polygons(scrap)
        dx, dy = scrap.bounds[:2]
        shift = np.array([dx, dy])
        ring = shapely.get_coordinates(scrap.exterior)[:-1] - shift
        lines = [s for s in starts for s in (s, s + lap) if a + 1e-6 < s < b - 1e-6]
        marks = [_joint_mark(scrap, line, shift) for line in lines]
        for mark in part.marks:
            points = np.asarray(mark.points)
            inside = points[(points[:, 0] >= a) & (points[:, 0] <= b)]
            if len(inside) >= min(2, len(points)):
                marks.append(Mark(mark.kind, inside - shift, mark.label))
        name = f"{part.name} piece {number}"
        piece = replace(
            part,
            name=name,
            outline=ring,
            corners=corners_of(ring),
            holes=tuple(shapely.get_coordinates(r)[:-1] - shift for r in scrap.interiors),
            marks=tuple(marks),
            keep_clear=(),
            may_join=False,
            neighbours=(),
            edges=(),
            bevels=tuple(_bevels(part.bevels, a, b, shift)),
            station_x=np.empty((0, 2)),
            note=f"{part.name} from {a:.0f} to {b:.0f} mm, scarfed {lap:.0f} mm",
        )
        pieces.append((piece, Cut(name, part.name, a, b)))
    return pieces


def _bevels(runs: Sequence[BevelRun], a: float, b: float, shift: Array) -> Iterable[BevelRun]:
    for run in runs:
        inside = (run.points[:, 0] >= a) & (run.points[:, 0] <= b)
        if inside.any():
            yield BevelRun(run.edge, run.points[inside] - shift, run.angles[inside])


def _joint_mark(scrap: Polygon, x: float, shift: Array) -> Mark:
    y0, y1 = scrap.bounds[1] - 1, scrap.bounds[3] + 1
    line = shapely.get_coordinates(scrap.intersection(shapely.LineString([(x, y0), (x, y1)])))
    return Mark(MarkKind.NOTE, line - shift, "end of scarf")


def corners_of(ring: Array) -> tuple[int, ...]:
    """Indices of a ring's points where it turns more than CORNER."""
    before = ring - np.roll(ring, 1, axis=0)
    after = np.roll(ring, -1, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    dot = np.sum(before * after, axis=1)
    return tuple(int(i) for i in np.flatnonzero(np.abs(np.arctan2(cross, dot)) > CORNER))


def chord(part: FlatPart, x: float) -> float:
    """Width of a part across x, mm (the sum, where a hole lies there)."""
    y0, y1 = part.outline[:, 1].min() - 1, part.outline[:, 1].max() + 1
    return float(polygon_of(part).intersection(shapely.LineString([(x, y0), (x, y1)])).length)


def strap(part: FlatPart, count: int, length: float, rules: JoiningRules) -> FlatPart:
    """The butt straps of a part: rectangles whose grain crosses the joint."""
    long, wide = max(length, rules.strap_width / 2), rules.strap_width
    ring = np.array([[0.0, 0.0], [long, 0.0], [long, wide], [0.0, wide]])
    return FlatPart(
        f"{part.name} strap",
        part.group,
        part.thickness,
        part.material,
        ring,
        (0, 1, 2, 3),
        number=part.number,
        quantity=count,
        grain=float(np.pi / 2),
        may_join=False,
        note=f"butt strap behind the joint of {part.name}",
    )


def strap_length(part: FlatPart, joints: Sequence[PartJoint]) -> float:
    """Length of strap that backs the widest of a part's joints, mm."""
    ends = [chord(part, j.start) for j in joints if j.part == part.name]
    if not ends:
        xs = np.linspace(part.outline[:, 0].min(), part.outline[:, 0].max(), 42)[1:-1]
        ends = [chord(part, float(x)) for x in xs]
    return max(ends) - 2 * SHORT_OF_EDGE


def with_straps(
    parts: Sequence[FlatPart],
    counts: Mapping[str, int],
    rules: JoiningRules,
    joints: Sequence[PartJoint] = (),
) -> Made:
    """Parts with straps for the joints they are known or expected to have."""
    extra = tuple(
        strap(part, counts[part.name], strap_length(part, joints), rules)
        for part in parts
        if counts.get(part.name, 0) > 0
    )
    return Made((*parts, *extra), extra)
