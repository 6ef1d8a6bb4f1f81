"""How a full-size part is divided over sheets of paper: tiles by row and column, which of them
carry something, and the register marks that join them. Knows no PDF."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray

from app.papers.paper import Paper
from lofting.findings import Refused
from lofting.parts import FlatPart, MarkKind
from nesting.marking import LEAST_SPACING

Array = NDArray[np.float64]

LEAST_ROOM = 60.0
"""A tile must show at least this much each way, mm, for names, marks and bars."""


@dataclass(frozen=True)
class TileRules:
    """Paper and how tiles are laid on it, mm.

    Attributes:
        margin: blank at every edge (what the printer cannot reach). overlap: of neighbouring
            tiles. spacing: of ordinate lines, as the tape on the wood shows them.
        measured_x, measured_y: what the builder measured the 100 mm bars of the test page to be;
            100 for no correction.
    """

    paper: Paper
    margin: float = 10.0
    overlap: float = 10.0
    spacing: float = 200.0
    measured_x: float = 100.0
    measured_y: float = 100.0

    @property
    def factor(self) -> tuple[float, float]:
        """Paper mm to set for one mm of wood along the page's width and height as fed."""
        return 100.0 / self.measured_x, 100.0 / self.measured_y


def check_rules(rules: TileRules) -> None:
    """Raise Refused when nothing useful fits on the paper, or when a figure makes no sense."""
    room = min(rules.paper.width, rules.paper.height) - 2 * rules.margin - rules.overlap
    if rules.margin < 0.0 or rules.overlap < 0.0:
        raise Refused(
            "marking, paper",
            "Margin and overlap cannot be less than nothing.",
            "Type a margin such as 10 mm and an overlap such as 10 mm.",
        )
    if room < LEAST_ROOM:
        raise Refused(
            "marking, paper",
            f"{rules.paper.name} ({rules.paper.width:g} x {rules.paper.height:g} mm) less two "
            f"margins of {rules.margin:g} mm and an overlap of {rules.overlap:g} mm leaves "
            f"{max(room, 0.0):g} mm, too little to tile with.",
            "Choose larger paper, or a smaller margin and overlap.",
        )
    if not rules.spacing >= LEAST_SPACING:
        raise Refused(
            "marking, spacing",
            f"The spacing of the ordinates is {rules.spacing:g} mm; it must be "
            f"{LEAST_SPACING:g} mm or more.",
            "Type a spacing such as 200 mm or 8 in.",
        )
    for label, measured in (("x", rules.measured_x), ("y", rules.measured_y)):
        if not 80.0 <= measured <= 125.0:
            raise Refused(
                "marking, printer correction",
                f"The 100 mm bar along {label} is said to measure {measured:g} mm.",
                "Measure the bar on the printed test page again; it should be near 100 mm.",
            )


def tiles_along(length: float, room: float, overlap: float) -> int:
    """How many tiles cover a length: ceil((length - overlap) / (room - overlap)), at least 1."""
    return max(1, ceil((length - overlap) / (room - overlap) - 1e-9))


@dataclass(frozen=True)
class Register:
    """A mark printed on two neighbouring tiles at one point of the part.

    name: unique within the part; at: (x, y) part axes, mm; across: the seam between the tiles
    runs up and down the part (they lie side by side).
    """

    name: str
    at: tuple[float, float]
    across: bool


@dataclass(frozen=True, eq=False)
class Tile:
    """One page: row (from 1, lowest on the part) and column (from 1, at the part's left), the
    part's rectangle (x0, y0, x1, y1) it shows, mm, and its register marks."""

    row: int
    column: int
    window: tuple[float, float, float, float]
    registers: tuple[Register, ...]

    @property
    def name(self) -> str:
        """Row letter and column number: A1 is the lowest at the left."""
        return f"{row_letter(self.row)}{self.column}"


def row_letter(row: int) -> str:
    """A, B ... Z, AA for 1, 2 ... 26, 27."""
    name = ""
    while row > 0:
        row, rest = divmod(row - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


@dataclass(frozen=True, eq=False)
class TiledPart:
    """A part over its tiles.

    Attributes:
        lying: the paper lies on its long side. rows, columns: of the whole grid; tiles: only
            those that carry something, row by row from the foot.
    """

    part: FlatPart
    lying: bool
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def part_lines(part: FlatPart) -> shapely.MultiLineString:
    """All that is cut, as lines: outline and holes closed, part axes."""
    rings = [part.outline, *part.holes]
    return shapely.MultiLineString([np.vstack([ring, ring[:1]]) for ring in rings])


def tile_part(part: FlatPart, rules: TileRules) -> TiledPart:
    """Divide a part over upright or lying paper, whichever needs fewer pages.

    Raises:
        Refused: when the rules leave no room (see `check_rules`).
    """
    check_rules(rules)
    lines = part_lines(part)
    marks = [m.points for m in part.marks if m.kind is not MarkKind.RULING and len(m.points) > 1]
    choices = [_grid(part, rules, lying, lines, marks) for lying in (False, True)]
    return min(choices, key=lambda tiled: (len(tiled.tiles), tiled.lying))


def room_of(rules: TileRules, *, lying: bool) -> tuple[float, float]:
    """Width and height in mm of wood that one tile shows."""
    paper = rules.paper if rules.paper.height >= rules.paper.width else rules.paper.turned()
    width, height = (paper.height, paper.width) if lying else (paper.width, paper.height)
    fx, fy = page_factor(rules, lying=lying)
    return (width - 2 * rules.margin) / fx, (height - 2 * rules.margin) / fy


def page_factor(rules: TileRules, *, lying: bool) -> tuple[float, float]:
    """Correction along the page's x and y. Bars are measured on an upright page; on a lying one
    the printer still feeds it upright, so the two change places."""
    fx, fy = rules.factor
    return (fy, fx) if lying else (fx, fy)


def _grid(
    part: FlatPart,
    rules: TileRules,
    lying: bool,
    lines: shapely.MultiLineString,
    marks: Sequence[Array],
) -> TiledPart:
    width, height = room_of(rules, lying=lying)
    low, high = part.outline.min(axis=0), part.outline.max(axis=0)
    length, across = (float(v) for v in high - low)
    columns = tiles_along(length, width, rules.overlap)
    rows = tiles_along(across, height, rules.overlap)
    # The grid is centred, so that what is left over is shared by the outer tiles.
    spare_x = columns * width - (columns - 1) * rules.overlap - length
    spare_y = rows * height - (rows - 1) * rules.overlap - across
    x0, y0 = float(low[0]) - 0.5 * spare_x, float(low[1]) - 0.5 * spare_y
    geometry = [lines] + [shapely.LineString(points) for points in marks]
    tree = shapely.STRtree(geometry)
    windows = {
        (row, column): (
            x0 + column * (width - rules.overlap),
            y0 + row * (height - rules.overlap),
            x0 + column * (width - rules.overlap) + width,
            y0 + row * (height - rules.overlap) + height,
        )
        for row in range(rows)
        for column in range(columns)
    }
    boxes = shapely.box(*np.array(list(windows.values())).T)
    hit = np.zeros(len(boxes), dtype=bool)
    hit[tree.query(boxes, predicate="intersects")[0]] = True
    kept = _joined({key for key, carries in zip(windows, hit, strict=True) if carries})
    tiles = tuple(
        Tile(row + 1, column + 1, windows[row, column], _registers(row, column, windows, kept))
        for row in range(rows)
        for column in range(columns)
        if (row, column) in kept
    )
    return TiledPart(part, lying, rows, columns, tiles)


def _joined(kept: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """The tiles kept, with the fewest more that join them all edge to edge: an opening far from
    the outline could not be laid in its place otherwise."""
    kept = set(kept)
    while True:
        groups = _groups(kept)
        if len(groups) < 2:
            return kept
        first = groups[0]
        near, far = min(
            ((a, b) for a in first for group in groups[1:] for b in group),
            key=lambda pair: (abs(pair[0][0] - pair[1][0]) + abs(pair[0][1] - pair[1][1]), pair),
        )
        row, column = near
        while (row, column) != far:
            if row != far[0]:
                row += 1 if far[0] > row else -1
            else:
                column += 1 if far[1] > column else -1
            kept.add((row, column))


def _groups(kept: set[tuple[int, int]]) -> list[set[tuple[int, int]]]:
    """Tiles that hang together edge to edge."""
    rest, groups = set(kept), []
    while rest:
        group, edge = set(), [min(rest)]
        while edge:
            tile = edge.pop()
            if tile in rest:
                rest.discard(tile)
                group.add(tile)
                row, column = tile
                edge += [(row, column - 1), (row, column + 1), (row - 1, column), (row + 1, column)]
        groups.append(group)
    return groups


def _registers(
    row: int,
    column: int,
    windows: dict[tuple[int, int], tuple[float, float, float, float]],
    kept: set[tuple[int, int]],
) -> tuple[Register, ...]:
    """Two marks on every seam with a printed neighbour, in the middle of the overlap.

    Their places along the seam differ from seam to seam and are never symmetric, so that no
    other pair of tiles, and no tile the wrong way up, lies on both marks at once.
    """
    marks = []
    for other, across in (
        ((row, column - 1), True),
        ((row, column + 1), True),
        ((row - 1, column), False),
        ((row + 1, column), False),
    ):
        if other not in kept:
            continue
        first, second = sorted(((row, column), other))
        a, b = windows[first], windows[second]
        near = f"{row_letter(first[0] + 1)}{first[1] + 1}"
        far = f"{row_letter(second[0] + 1)}{second[1] + 1}"
        seat = (first[0] * 7 + first[1] * 3 + (0 if across else 2)) % 5
        for k, share in enumerate((0.17 + 0.02 * seat, 0.58 + 0.02 * ((seat * 2) % 5))):
            if across:
                at = (0.5 * (a[2] + b[0]), a[1] + share * (a[3] - a[1]))
            else:
                at = (a[0] + share * (a[2] - a[0]), 0.5 * (a[3] + b[1]))
            marks.append(Register(f"{near}-{far}/{k + 1}", at, across))
    return tuple(marks)
