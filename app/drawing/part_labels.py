"""Where writing stands on the drawing of a part: names and labels beside what they name, on the
wood or clear of it, never across an edge and never over one another."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from app.drawing.value import Pen, Text
from lofting.parts import BevelRun, FlatPart, Mark, MarkKind, part_polygon

Array = NDArray[np.float64]

SEEN = (580.0, 262.0)
"""Pixels that a part's drawing has on a window of usual size, across and up: they tell how large
writing of the renderer's own size (LEGIBLE) comes out in mm of the part."""

LEGIBLE = 12.0
WIDE = 0.56
"""Mean breadth of a letter over its height on the body (sans serif)."""

CROSSED = 12.0
"""What writing over another line costs, in places further down the list."""

FACES = frozenset({"forward face", "after face", "inner face", "outer face"}) | frozenset(
    {"top", "underside", "inboard face", "outboard face"}
)


@dataclass(frozen=True)
class Spot:
    """A place for a text: anchor point, angle, anchor of the text."""

    x: float
    y: float
    angle: float
    anchor: tuple[str, str]


@dataclass
class Writing:
    """The sheet a part's texts are set on: what is taken already.

    Attributes:
        wood: the part. em: height of writing, mm. lines: other lines better not crossed.
    """

    wood: shapely.Polygon
    em: float
    lines: list[BaseGeometry] = field(default_factory=list)
    taken: list[shapely.Polygon] = field(default_factory=list)

    @staticmethod
    def on(part: FlatPart, text: float) -> "Writing":
        """Nothing written yet; text: height of writing in mm, 0 for the renderer's own."""
        length, width = (float(v) for v in np.ptp(part.outline, axis=0))
        em = text if text > 0.0 else LEGIBLE * max(length / SEEN[0], width / SEEN[1])
        lines: list[BaseGeometry] = [
            shapely.LineString(m.points) for m in part.marks if len(m.points) > 1
        ]
        holes = (m for m in part.marks if m.kind is MarkKind.STITCH and len(m.points) == 1)
        lines += [shapely.Point(m.points[0]).buffer(0.25 * em) for m in holes]
        return Writing(part_polygon(part), em, lines)

    def box(self, words: str, spot: Spot) -> shapely.Polygon:
        """The room that words take at a spot, a little air round them."""
        wide, high = WIDE * self.em * len(words), 0.8 * self.em
        left = {"left": 0.0, "centre": -0.5 * wide, "right": -wide}[spot.anchor[0]]
        low = {"base": 0.25 * self.em, "middle": -0.5 * high, "top": -high - 0.25 * self.em}
        y = low[spot.anchor[1]]
        flat = shapely.box(left, y, left + wide, y + high).buffer(0.12 * self.em)
        return translate(rotate(flat, spot.angle, (0.0, 0.0), use_radians=True), spot.x, spot.y)

    def put(
        self,
        words: str,
        spots: Iterable[Spot],
        pen: Pen,
        size: float,
        key: str,
        *,
        on_wood: bool = False,
    ) -> list[Text]:
        """The words at the best of the spots, or nowhere; on_wood: only inside the part."""
        best: tuple[float, Spot, shapely.Polygon] | None = None
        for order, spot in enumerate(spots):
            box = self.box(words, spot)
            if self._barred(box) or (on_wood and not self.wood.covers(box)):
                continue
            crossed = sum(1 for line in self.lines if line.intersects(box))
            cost = CROSSED * crossed + order
            if best is None or cost < best[0]:
                best = cost, spot, box
            if crossed == 0:
                break
        if best is None:
            return []
        _, spot, box = best
        self.taken.append(box)
        return [Text(spot.x, spot.y, words, pen, size, spot.angle, spot.anchor, key)]

    def _barred(self, box: shapely.Polygon) -> bool:
        left, _, right, _ = self.wood.bounds
        if box.bounds[0] < left - 1e-6 or box.bounds[2] > right + 1e-6:
            return True
        return bool(self.wood.boundary.intersects(box)) or any(
            box.intersects(t) for t in self.taken
        )


def label_of(mark: Mark) -> str:
    """What is written at a mark: of both faces of a part that lands there its name alone."""
    name, _, rest = mark.label.rpartition(", ")
    return name if name and rest in FACES else mark.label


def mark_texts(writing: Writing, marks: Sequence[Mark], size: float) -> list[Text]:
    """A label at every line that has one, once where lines of one label lie close together."""
    texts: list[Text] = []
    done: list[tuple[str, Array]] = []
    for mark in sorted(marks, key=lambda m: m.kind is not MarkKind.LANDING):
        words = label_of(mark)
        if mark.kind is MarkKind.NOTE and len(mark.points) == 1:
            spots = name_spots(mark.points[0], writing)
            texts += writing.put(words, spots, Pen.MARK, size, "", on_wood=True)
        if not words or len(mark.points) < 2:
            continue
        middle = mark.points.mean(axis=0)
        near = 6.0 * writing.em
        if any(w == words and float(np.hypot(*(middle - at))) < near for w, at in done):
            continue
        found = writing.put(
            words, line_spots(mark, writing), Pen.MARK, size, f"mark/{mark.kind.value}/{mark.label}"
        )
        texts += found
        if found:
            done.append((words, middle))
    return texts


def line_spots(mark: Mark, writing: Writing) -> list[Spot]:
    """Places beside a line: past its ends where it runs up the part, along it where it lies."""
    points = mark.points
    run = points[-1] - points[0]
    spots: list[Spot] = []
    left, _, right, _ = writing.wood.bounds
    half = 0.5 * WIDE * writing.em * len(label_of(mark)) + 0.2 * writing.em
    low, high = points[int(np.argmin(points[:, 1]))], points[int(np.argmax(points[:, 1]))]
    if abs(run[1]) > abs(run[0]):

        def past(end: Array, anchor: str) -> list[Spot]:
            x = float(np.clip(end[0], left + half, max(right - half, left + half)))
            gap = 0.15 * writing.em * (-1.0 if anchor == "top" else 1.0)
            return [
                Spot(x + shift * half, float(end[1]) + gap, 0.0, ("centre", anchor))
                for shift in (0.0, 0.6, -0.6)
            ]

        ends = [past(low, "top"), past(high, "base")]
        spots += [
            spot
            for some in (ends if mark.kind is MarkKind.LANDING else ends[::-1])
            for spot in some
        ]
    shares = (0.5, 0.3, 0.7, 0.15, 0.85)
    for share in shares:
        at = np.array([np.interp(share, np.linspace(0, 1, len(points)), c) for c in points.T])
        angle = float(np.arctan2(run[1], run[0]))
        angle = angle - np.pi if angle > 0.5 * np.pi + 0.01 else angle
        angle = angle + np.pi if angle < -0.5 * np.pi + 0.01 else angle
        spots += [
            Spot(float(at[0]), float(at[1]), angle, ("centre", "base")),
            Spot(float(at[0]), float(at[1]), angle, ("centre", "top")),
        ]
    return spots


def name_spots(at: Array, writing: Writing) -> list[Spot]:
    """Places for the part's name about the middle of the wood (2,), nearest first."""
    spots = [
        Spot(
            float(at[0]) + dx * writing.em,
            float(at[1]) + dy * writing.em,
            0.0,
            ("centre", "middle"),
        )
        for dx in (0.0, 5.0, -5.0, 9.0, -9.0)
        for dy in (0.0, 1.5, -1.5, 3.0, -3.0)
    ]
    return sorted(spots, key=lambda s: abs(s.x - at[0]) + 2.0 * abs(s.y - at[1]))


def bevel_texts(
    writing: Writing, runs: Sequence[BevelRun], size: float, least: float = np.radians(0.5)
) -> tuple[list[Text], list[Array]]:
    """The bevels as figures inside the edges, and a short tick (2, 2) at each place they are given
    for; edges that stay square have none."""
    texts: list[Text] = []
    ticks: list[Array] = []
    for run in runs:
        if float(np.abs(run.angles).max(initial=0.0)) < least or len(run.points) < 2:
            continue
        slope = np.gradient(run.points, axis=0)
        slope /= np.maximum(np.hypot(*slope.T), 1e-9)[:, None]
        inward = np.column_stack([-slope[:, 1], slope[:, 0]])
        middle = len(run.points) // 2
        probe = shapely.Point(run.points[middle] + 0.5 * writing.em * inward[middle])
        if not writing.wood.covers(probe):
            inward = -inward
        ends = run.points + 0.6 * writing.em * inward
        ticks += [np.array(pair) for pair in zip(run.points, ends, strict=True)]
        last = len(run.points) - 1
        alike = float(np.ptp(run.angles)) < np.radians(1.0)
        for k in (middle,) if alike else (middle, 0, last):
            figure = f"{abs(np.degrees(run.angles[k])):.0f}°"
            said = [figure]
            if k == middle:
                said.insert(0, figure + (" standing" if run.angles[k] > 0.0 else " under"))
            for words in said:
                spots = edge_spots(words, run.points[k], inward[k], slope[k], writing.em)
                key = f"bevel/{run.edge}"
                found = writing.put(words, spots, Pen.NOTE, size, key, on_wood=True)
                if found:
                    texts += found
                    break
    return texts, ticks


def edge_spots(words: str, at: Array, inward: Array, slope: Array, em: float) -> list[Spot]:
    """Places for words inside an edge at a point (2,) of it, inward and slope unit (2,)."""
    reach = 0.9 + 0.5 * WIDE * len(words) * abs(float(inward[0]))
    places = [
        at + em * ((reach + away) * inward + aside * slope)
        for away in (0.0, 0.8, 1.6)
        for aside in (0.0, 2.0, -2.0, 4.0, -4.0)
    ]
    return [Spot(float(p[0]), float(p[1]), 0.0, ("centre", "middle")) for p in places]
