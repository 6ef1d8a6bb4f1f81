"""From loose lines to closed outlines with holes: doubled lines dropped, ends joined, gaps
closed or reported, rings sorted into outlines and the holes inside them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import Polygon

from lofting.parts import OutlineSpec

Array = NDArray[np.float64]

JOIN = 0.5
"""Ends closer than this (mm) were meant to meet: less than a saw's kerf."""

GAP = 3.0
"""A chain of lines open by no more than this (mm) is closed with a straight line, and said."""

SAME = 0.05
"""Lines that nowhere lie further apart than this (mm) are one line drawn twice."""

SPECK = 4.0
"""Outlines smaller than this (mm2) are dirt in the drawing."""

FINE = 0.005
"""Points may be left out as long as the outline stays within this, mm."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A line as drawn: points (n, 2) mm, and whether it is closed by itself."""

    points: Array
    closed: bool
    name: str = ""


@dataclass(frozen=True, eq=False)
class ReadOutline:
    """An outline anticlockwise with its holes clockwise: rings (n, 2) in mm, lowest corner of
    its box at (0, 0); name: of its layer or object, if it has one."""

    name: str
    ring: Array
    holes: tuple[Array, ...] = ()

    def spec(self, thickness: float, material: str, *, name: str = "") -> OutlineSpec:
        """The outline as an own part of that plywood."""
        rings = [tuple((float(x), float(y)) for x, y in r) for r in (self.ring, *self.holes)]
        return OutlineSpec(name or self.name, rings[0], thickness, material, tuple(rings[1:]))


@dataclass(frozen=True)
class ReadOutlines:
    """What a drawing held, largest outline first; mended: one sentence for each thing that was
    mended or left out."""

    outlines: tuple[ReadOutline, ...]
    mended: tuple[str, ...]


def assemble(pieces: Sequence[Piece]) -> ReadOutlines:
    """Closed outlines with holes from the pieces of a drawing, mm."""
    said: list[str] = []
    pieces = _without_doubles(pieces, said)
    closed = [piece for piece in pieces if piece.closed]
    closed += _chained([piece for piece in pieces if not piece.closed], said)
    rings: list[tuple[Polygon, str]] = []
    for piece in closed:
        ring = _simple(piece, said)
        if ring is not None:
            rings.append((ring, piece.name))
    return ReadOutlines(_nested(_single(rings, said)), tuple(said))


def _at(points: Array) -> str:
    x, y = points[0]
    return f"near {x:.0f}, {y:.0f} mm"


def _without_doubles(pieces: Sequence[Piece], said: list[str]) -> list[Piece]:
    """The pieces without lines drawn twice, either way round."""
    kept: list[Piece] = []
    lines = [
        shapely.linestrings(np.vstack([p.points, p.points[:1]]) if p.closed else p.points)
        for p in pieces
    ]
    tree = shapely.STRtree(lines)
    dropped: set[int] = set()
    for i, piece in enumerate(pieces):
        if i in dropped:
            continue
        kept.append(piece)
        for j in tree.query(lines[i].buffer(SAME)):
            if j <= i or j in dropped or abs(lines[i].length - lines[j].length) > 4 * SAME:
                continue
            if shapely.hausdorff_distance(lines[i], lines[j], densify=0.25) < SAME:
                dropped.add(int(j))
    if dropped:
        count = len(dropped)
        said.append(
            f"{count} {'line' if count == 1 else 'lines'} drawn twice "
            f"{'was' if count == 1 else 'were'} taken once"
        )
    return kept


def _chained(pieces: list[Piece], said: list[str]) -> list[Piece]:
    """Open pieces joined end to end; what does not close is said and left out."""
    if not pieces:
        return []
    ends = np.array([p.points[i] for p in pieces for i in (0, -1)])
    near = cKDTree(ends).query_ball_point(ends, JOIN)
    used: set[int] = set()
    chains: list[Piece] = []
    for start in range(len(pieces)):
        if start in used:
            continue
        used.add(start)
        chain = [pieces[start].points]
        name = pieces[start].name
        # Forward from the last end, then backward from the first one.
        for end, forward in ((2 * start + 1, True), (2 * start, False)):
            at = end
            while True:
                on = [e for e in near[at] if e // 2 not in used]
                if not on:
                    break
                nearest = min(on, key=lambda e: float(np.hypot(*(ends[e] - ends[at]))))
                used.add(nearest // 2)
                points = pieces[nearest // 2].points
                points = points if nearest % 2 == 0 else points[::-1]
                if forward:
                    chain.append(points[1:])
                else:
                    chain.insert(0, points[::-1][:-1])
                at = nearest ^ 1
        chains.append(Piece(np.vstack(chain), False, name))
    closed = []
    for chain_piece in chains:
        points = chain_piece.points
        gap = float(np.hypot(*(points[0] - points[-1])))
        length = float(np.hypot(*np.diff(points, axis=0).T).sum())
        if len(points) > 2 and gap <= max(JOIN, min(GAP, 0.05 * length)):
            if gap > JOIN:
                said.append(f"a gap of {gap:.1f} mm {_at(points)} was closed")
            ring = points[:-1] if gap <= JOIN else points
            closed.append(Piece(ring, True, chain_piece.name))
        else:
            said.append(f"an open line of {length:.0f} mm {_at(points)} was left out")
    return closed


def _simple(piece: Piece, said: list[str]) -> Polygon | None:
    """The piece as a simple polygon, fine points left out; None where it holds no area."""
    points = piece.points
    if len(points) < 3:
        said.append(f"a line without area {_at(points)} was left out")
        return None
    polygon = Polygon(points)
    if not polygon.is_valid:
        mended = shapely.make_valid(polygon, method="structure")
        parts = [g for g in shapely.get_parts(mended) if isinstance(g, Polygon)]
        if not parts:
            said.append(f"a line without area {_at(points)} was left out")
            return None
        polygon = Polygon(max(parts, key=lambda g: g.area).exterior)
        said.append(f"an outline that crosses itself {_at(points)} was made simple: look at it")
    polygon = shapely.simplify(polygon, FINE)
    if polygon.area < SPECK:
        said.append(f"a speck of {polygon.area:.1f} mm2 {_at(points)} was left out")
        return None
    return polygon


def _single(rings: list[tuple[Polygon, str]], said: list[str]) -> list[tuple[Polygon, str]]:
    """Rings without those that others double once their pieces are joined."""
    kept: list[tuple[Polygon, str]] = []
    for polygon, name in rings:
        for other, _ in kept:
            if (
                abs(polygon.area - other.area) < 0.001 * other.area
                and shapely.hausdorff_distance(polygon.exterior, other.exterior) < JOIN
            ):
                said.append("an outline drawn twice was taken once")
                break
        else:
            kept.append((polygon, name))
    return kept


def _nested(rings: list[tuple[Polygon, str]]) -> tuple[ReadOutline, ...]:
    """Outlines with the holes inside them; what lies inside a hole is an outline again."""
    rings = sorted(rings, key=lambda r: -r[0].area)
    depth: list[int] = []
    parent: list[int] = []
    for i, (polygon, _) in enumerate(rings):
        inside = [j for j in range(i) if rings[j][0].contains(polygon.representative_point())]
        parent.append(inside[-1] if inside else -1)
        depth.append(len(inside))
    found = []
    for i, (polygon, name) in enumerate(rings):
        if depth[i] % 2:
            continue
        holes = [rings[j][0] for j in range(len(rings)) if parent[j] == i and depth[j] % 2]
        low = np.array(polygon.bounds[:2])
        ring = shapely.get_coordinates(shapely.geometry.polygon.orient(polygon, 1.0).exterior)
        inner = tuple(
            shapely.get_coordinates(shapely.geometry.polygon.orient(hole, -1.0).exterior)[:-1] - low
            for hole in holes
        )
        found.append(ReadOutline(name, ring[:-1] - low, inner))
    return tuple(found)
