"""Sheets cut up like a jigsaw: parts whose layout on blanks is known, since it was there first.

Blanks of one to three sheets are cut across by straight, slanting and bent lines; out of some of
the pieces a middle is cut, closed or open to one side, and becomes parts of its own, so that others
lie in the openings of frames. What is left between parts is the gap; every part is then turned and
flipped at random, and joint rules are made that the layout keeps.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import LineString, Polygon, box
from shapely.ops import split

from lofting.parts import FlatPart, Group, KeepClear
from nesting.joints import joint_lines, length_of
from nesting.stock import JoiningRules, Sheet

FREE = np.pi / 2


@dataclass(frozen=True)
class CutSheets:
    """Parts, the sheet and rules; for each blank its sheets and what lies on it, as (name, where it
    lies)."""

    parts: list[FlatPart]
    sheet: Sheet
    rules: JoiningRules
    blanks: list[tuple[int, list[tuple[str, Polygon]]]]

    @property
    def sheets(self) -> int:
        return sum(sheets for sheets, _ in self.blanks)


def cut_sheets(seed: int, most_blanks: int = 3) -> CutSheets:
    """Up to so many blanks, each cut into two to eight parts."""
    random = np.random.default_rng(seed)
    length, width = [(2440.0, 1220.0), (2500.0, 1250.0), (3050.0, 1525.0)][random.integers(3)]
    sheet = Sheet("okoume", 6.0, length, width)
    rules = JoiningRules(
        clearance=float(random.choice([0.0, 3.0, 6.0])),
        margin=float(random.choice([0.0, 10.0])),
        slope=float(random.choice([8.0, 12.0])),
        stagger=0.0,
        may_flip=bool(random.random() < 0.7),
        most_sheets=int(random.integers(1, 5)),
    )
    parts: list[FlatPart] = []
    blanks = []
    for _ in range(int(random.integers(1, most_blanks + 1))):
        sheets = int(random.integers(1, min(3, rules.most_sheets) + 1))
        c, m = rules.clearance, rules.margin
        ground = box(
            m - c / 2, m - c / 2, length_of(sheets, sheet, rules) - m + c / 2, width - m + c / 2
        )
        wanted = int(random.integers(2, 9))
        pieces = [ground]
        for _ in range(60):
            if len(pieces) >= wanted:
                break
            largest = max(pieces, key=lambda p: p.area * random.uniform(0.3, 1.0))
            new = _hollowed(random, largest) if random.random() < 0.3 else _cut(random, largest)
            if new and all(_sound(p, c) for p in new):
                pieces = [p for p in pieces if p is not largest] + new
        there = []
        for piece in pieces:
            part, where = _part(random, f"part {len(parts) + 1}", piece, sheets, sheet, rules)
            parts.append(part)
            there.append((part.name, where))
        blanks.append((sheets, there))
    return CutSheets(parts, sheet, rules, blanks)


def _shrunk(piece: Polygon, clearance: float) -> Polygon:
    return piece.buffer(-clearance / 2, join_style="mitre", mitre_limit=20.0)


def _sound(piece, clearance: float) -> bool:
    if not isinstance(piece, Polygon) or piece.area < 30_000:
        return False
    small = _shrunk(piece, clearance)
    return (
        isinstance(small, Polygon)
        and small.is_valid
        and len(small.interiors) == len(piece.interiors)
        and small.area > 0.5 * piece.area
    )


def _cut(random, piece: Polygon) -> list[Polygon]:
    """Two pieces along a line, straight on, slanting or bent."""
    x0, y0, x1, y1 = piece.bounds
    across = random.random() < (x1 - x0) / (x1 - x0 + y1 - y0)
    at = random.uniform(0.25, 0.75)
    lean = random.choice([0.0, random.uniform(-0.15, 0.15)])
    bend = random.choice([0.0, random.uniform(-0.12, 0.12)])
    t = np.linspace(-0.01, 1.01, 7)
    s = at + lean * (t - 0.5) + bend * np.sin(np.pi * np.clip(t, 0, 1))
    if across:
        line = np.column_stack([x0 + s * (x1 - x0), y0 + t * (y1 - y0)])
    else:
        line = np.column_stack([x0 + t * (x1 - x0), y0 + s * (y1 - y0)])
    return [p for p in split(piece, LineString(line)).geoms if isinstance(p, Polygon)]


def _hollowed(random, piece: Polygon) -> list[Polygon]:
    """A frame and its middle, which may be open to one side."""
    if piece.interiors:
        return []
    board = random.uniform(60, 120)
    middle = piece.buffer(-board, join_style="mitre")
    if not isinstance(middle, Polygon) or middle.area < 40_000:
        return []
    if random.random() < 0.6:
        x0, y0, x1, y1 = middle.bounds
        way = random.integers(4)
        far = 3 * board
        out = [(far, 0), (-far, 0), (0, far), (0, -far)][way]
        mouth = shapely.union_all(
            [middle, affine_transform(middle, [1, 0, 0, 1, *out]), _swept(middle, out)]
        )
        middle = mouth.intersection(piece)
        if not isinstance(middle, Polygon):
            return []
    frame = piece.difference(middle)
    if not isinstance(frame, Polygon):
        return []
    return [frame, middle]


def _swept(middle: Polygon, out) -> Polygon:
    return shapely.union_all(
        [affine_transform(middle, [1, 0, 0, 1, out[0] * k, out[1] * k]) for k in (0.25, 0.5, 0.75)]
        + [middle.convex_hull.intersection(middle.envelope)]
    )


def _part(random, name, piece, sheets, sheet, rules) -> tuple[FlatPart, Polygon]:
    """A part made of a piece, its outline turned and flipped; and where it lies."""
    where = _shrunk(piece, rules.clearance)
    x0, _, x1, _ = where.bounds
    joints = joint_lines(sheets, sheet, rules)
    crossed = any(a < x1 and b > x0 for a, b in joints)
    free = bool(random.random() < 0.4) and not crossed
    # laid = turned(flipped(own)): own axes are found by undoing that
    turn = float(random.choice([0.0, np.pi])) if not free else float(random.integers(4)) * FREE
    hand = -1.0 if rules.may_flip and random.random() < 0.5 else 1.0
    cos, sin = round(np.cos(turn)), round(np.sin(turn))
    own = affine_transform(where, [cos, sin, -sin * hand, cos * hand, 0.0, 0.0])
    dx, dy = own.bounds[:2]
    own = shapely.orient_polygons(affine_transform(own, [1, 0, 0, 1, -dx, -dy]))
    length = own.bounds[2]
    clear = []
    if crossed and cos:
        for _ in range(int(random.integers(0, 4))):
            a = random.uniform(0.0, length - 50.0)
            b = min(length, a + random.uniform(30.0, 0.4 * length))
            on_blank = sorted((cos * (a + dx), cos * (b + dx)))
            if not any(p < on_blank[1] and q > on_blank[0] for p, q in joints):
                clear.append(KeepClear(a, b, "landing"))
    return (
        FlatPart(
            name,
            Group.PLANK,
            sheet.thickness,
            sheet.material,
            shapely.get_coordinates(own.exterior)[:-1],
            (),
            holes=tuple(shapely.get_coordinates(ring)[:-1] for ring in own.interiors),
            grain_turn=FREE if free else 0.0,
            may_join=crossed or bool(random.random() < 0.3),
            keep_clear=tuple(clear),
        ),
        where,
    )
