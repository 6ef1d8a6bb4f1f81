"""Full-size tiles read back: bars measured, tiles put together by their register marks alone,
and what they show compared with the parts."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.papers.tiling import TileRules
from app.readback.distances import apart
from app.readback.streams import PageContent, Path2, Tag, read_pages
from app.summary import ReadBack
from lofting.findings import Refused
from lofting.parts import FlatPart

Array = NDArray[np.float64]

TILES = 0.02
"""Tiles put together may be this far from the part, mm: a tenth of a knife line."""

BARS = 0.01
"""A 100 mm bar may be this far from 100 mm, mm."""

STEP = 10.0
"""Distance of the points at which outlines are compared, mm."""


@dataclass
class TileSeen:
    """One tile as its page draws it, in mm of wood from the page's corner.

    pieces: (ring number, chain (n, 2)); registers: name -> point; bars: (axis, length, measured).
    """

    part: str
    name: str
    pieces: list[tuple[int, Array]] = field(default_factory=list)
    registers: dict[str, Array] = field(default_factory=dict)
    bars: list[tuple[str, float, float]] = field(default_factory=list)


def check_tiles(
    path: Path, parts: Sequence[FlatPart], rules: TileRules, *, file: str = ""
) -> ReadBack:
    """Read a PDF of full-size tiles and compare it with the parts that it should show.

    The difference is the largest of: tiles' outlines from the parts', both ways; register marks
    of one name from one another; ten times what a scale bar is off (its tolerance is finer).
    """
    name = file or path.name
    try:
        tiles = read_tiles(path, rules)
    except Refused as refused:
        return ReadBack(name, TILES, float("inf"), (refused.reason,))
    notes: list[str] = []
    worst = 0.0
    by_part: dict[str, list[TileSeen]] = {}
    for tile in tiles:
        by_part.setdefault(tile.part, []).append(tile)
        bars, said = _bar_error(tile)
        notes += said
        worst = max(worst, bars * TILES / BARS)
    for part in parts:
        seen = by_part.pop(part.name, [])
        if not seen:
            notes.append(f"{part.name} is missing.")
            worst = float("inf")
            continue
        difference, said = compare_part(part, seen)
        worst = max(worst, difference)
        notes += said
    notes += [f"{other} is no part of this boat." for other in by_part]
    return ReadBack(name, TILES, worst, tuple(notes))


def check_roll(
    path: Path, parts: Sequence[FlatPart], rules: TileRules, *, file: str = ""
) -> ReadBack:
    """Read a PDF of full-size parts on a roll and compare it with the parts it should show: each
    once, and every bar as long as it says."""
    name = file or path.name
    stretch = np.array([rules.measured_x, rules.measured_y]) / 100.0
    shown: dict[str, list[TileSeen]] = {}
    notes: list[str] = []
    worst = 0.0
    try:
        for number, content in enumerate(read_pages(path), 1):
            page: dict[str, TileSeen] = {}
            bars = TileSeen("page", str(number))
            for drawn in content.paths:
                points = drawn.points * stretch
                inner = drawn.tags[-1] if drawn.tags else Tag("")
                if inner.name == "Outline":
                    owner = str(inner.value("Part"))
                    seen = page.setdefault(owner, TileSeen(owner, str(number)))
                    seen.pieces.append((int(float(inner.value("Ring"))), points))
                elif inner.name == "ScaleBar":
                    bars.bars.append(_bar(inner, points))
            if not bars.bars:
                notes.append(f"page {number} lacks a scale bar.")
            worst = max(worst, _bar_error(bars)[0] * TILES / BARS)
            for owner, seen in page.items():
                shown.setdefault(owner, []).append(seen)
    except Refused as refused:
        return ReadBack(name, TILES, float("inf"), (refused.reason,))
    for part in parts:
        copies = shown.pop(part.name, [])
        if len(copies) != 1:
            notes.append(f"{part.name} is there {len(copies)} times.")
            worst = float("inf")
            continue
        difference, said = compare_part(part, copies)
        worst = max(worst, difference)
        notes += said
    notes += [f"{other} is no part of this boat." for other in shown]
    return ReadBack(name, TILES, worst, tuple(notes))


def _bar(tag: Tag, points: Array) -> tuple[str, float, float]:
    length = float(np.linalg.norm(points[-1] - points[0]))
    return str(tag.value("Axis")), float(tag.value("Length")), length


def read_tiles(path: Path, rules: TileRules) -> list[TileSeen]:
    """All tiles of a PDF. Raises Refused when it cannot be read."""
    tiles = []
    for content in read_pages(path):
        tag = next((t for t in content.tags if t.name == "Tile"), None)
        if tag is not None:
            tiles.append(_tile(content, tag, rules))
    return tiles


def _tile(content: PageContent, tag: Tag, rules: TileRules) -> TileSeen:
    """A tile in mm as the builder's printer makes them: page mm times what a bar measures."""
    lying = content.width > content.height
    stretch = np.array([rules.measured_x, rules.measured_y]) / 100.0
    if lying:
        stretch = stretch[::-1]
    seen = TileSeen(str(tag.value("Part")), str(tag.value("Name")))
    crosses: dict[str, list[Array]] = {}
    for path in content.paths:
        points = path.points * stretch
        inner = path.tags[-1] if path.tags else Tag("")
        if inner.name == "Outline":
            seen.pieces.append((int(float(inner.value("Ring"))), points))
        elif inner.name == "Register":
            crosses.setdefault(str(inner.value("Name")), []).append(points)
        elif inner.name == "ScaleBar":
            seen.bars.append(_bar(inner, points))
    for name, lines in crosses.items():
        level = min(lines, key=lambda line: float(np.ptp(line[:, 1])))
        upright = min(lines, key=lambda line: float(np.ptp(line[:, 0])))
        seen.registers[name] = np.array([upright[:, 0].mean(), level[:, 1].mean()])
    return seen


def _bar_error(tile: TileSeen) -> tuple[float, list[str]]:
    notes = []
    if {axis for axis, _length, _measured in tile.bars} != {"x", "y"}:
        notes.append(f"{tile.part} {tile.name} lacks a scale bar.")
    worst = max((abs(measured - length) for _axis, length, measured in tile.bars), default=0.0)
    return worst, notes


def join_tiles(tiles: Sequence[TileSeen]) -> tuple[Array, float, bool]:
    """Where each tile's corner lies so that register marks of one name meet: (n, 2) mm by least
    squares, the first at (0, 0); how far marks are apart then; whether all hang together."""
    pairs: list[tuple[int, int, Array]] = []
    owners: dict[str, list[int]] = {}
    for k, tile in enumerate(tiles):
        for name in tile.registers:
            owners.setdefault(name, []).append(k)
    for name, both in owners.items():
        if len(both) == 2:
            a, b = both
            pairs.append((a, b, tiles[a].registers[name] - tiles[b].registers[name]))
    count = len(tiles)
    matrix = np.zeros((len(pairs) + 1, count))
    wanted = np.zeros((len(pairs) + 1, 2))
    for row, (a, b, gap) in enumerate(pairs):
        matrix[row, a], matrix[row, b] = -1.0, 1.0
        wanted[row] = gap
    matrix[-1, 0] = 1.0
    corners, _rest, rank, _s = np.linalg.lstsq(matrix, wanted, rcond=None)
    apart = float(np.linalg.norm(matrix @ corners - wanted, axis=1).max()) if pairs else 0.0
    placed = np.asarray(corners, dtype=float)
    return placed, apart, int(rank) == count


def compare_part(part: FlatPart, tiles: Sequence[TileSeen]) -> tuple[float, list[str]]:
    """Largest difference in mm between the joined tiles and the part's outline and holes."""
    corners, apart, whole = join_tiles(tiles)
    if not whole:
        return float("inf"), [f"{part.name}: its tiles do not hang together, one is missing."]
    shown: dict[int, list[Array]] = {}
    for tile, corner in zip(tiles, corners, strict=True):
        for number, points in tile.pieces:
            shown.setdefault(number, []).append(points + corner)
    rings = [part.outline, *part.holes]
    if 0 not in shown:
        return float("inf"), [f"{part.name}: its outline is missing."]
    start = np.vstack(shown[0]).min(axis=0) - part.outline.min(axis=0)
    worst, notes = apart, []
    for number, ring in enumerate(rings):
        if number not in shown:
            worst = float("inf")
            notes.append(f"{part.name}: opening {number} is missing.")
            continue
        drawn = [points - start for points in shown[number] if len(points) > 1]
        worst = max(worst, ring_difference(ring, drawn))
    return worst, notes


def ring_difference(ring: Array, drawn: Sequence[Array]) -> float:
    """Greatest distance between a closed ring (n, 2) and the chains that should make it up."""
    return apart([np.vstack([ring, ring[:1]])], drawn, STEP)


__all__ = [
    "BARS",
    "TILES",
    "Path2",
    "check_roll",
    "check_tiles",
    "compare_part",
    "join_tiles",
    "read_tiles",
]
