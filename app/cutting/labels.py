"""Where a part's name goes: inside the part, clear of marks, as high as there is room for."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from app.cutting.strokes import stroke_text

Array = NDArray[np.float64]

SMALLEST = 4.0
"""Letters smaller than this (mm) cannot be cut legibly; the text is left out."""

AROUND = 3.0
"""Free space kept around a name, mm."""

PLACES = 9
"""Places tried along each side of the part's box besides its roomiest one."""


def label_inside(label: str, body: Polygon, lines: Sequence[Array], height: float) -> list[Array]:
    """A label as strokes (n, 2) inside a polygon, letters `height` mm high or lower.

    The roomiest place is tried first, then others across the part; upright letters before
    letters turned by a quarter; clear of `lines` (n, 2) if any place is, then across them.
    Empty where even the smallest letters find no room.
    """
    marks = shapely.MultiLineString([line for line in lines if len(line) > 1])
    spots = _spots(body)
    inner = body.buffer(-AROUND)
    shapely.prepare(inner)
    clear = marks.buffer(AROUND)
    shapely.prepare(clear)
    size = height
    while size >= SMALLEST:
        strokes, width = stroke_text(label, size)
        middle = np.array([width, size]) / 2.0
        corners = np.array([[0, 0], [width, 0], [width, size], [0, size]]) - middle
        for turn in (np.eye(2), np.array([[0.0, 1.0], [-1.0, 0.0]])):
            boxes = shapely.polygons(spots[:, None, :] + corners @ turn)
            fits = shapely.contains(inner, boxes)
            free = fits & ~shapely.intersects(clear, boxes)
            # Across a mark is better than tiny, but only once letters have shrunk by half.
            best = free if free.any() or size > height / 2.0 else fits
            if best.any():
                spot = spots[int(np.argmax(best))]
                return [(stroke - middle) @ turn + spot for stroke in strokes]
        size *= 0.8
    return []


def label_beside(
    label: str, line: Array, body: Polygon, lines: Sequence[Array], height: float
) -> list[Array]:
    """A label as strokes (n, 2) along a line (n, 2), on whichever side and at whichever place has
    room: inside the polygon and clear of `lines`. Empty where there is none."""
    strokes, width = stroke_text(label, height)
    whole = shapely.LineString(line)
    edge = body.boundary
    clear = shapely.MultiLineString([one for one in lines if len(one) > 1])
    shapely.prepare(edge)
    shapely.prepare(clear)
    for share in (0.7, 0.5, 0.3, 0.85, 0.15):
        a, b = (
            np.array(whole.interpolate(share * whole.length + side * 0.5 * width).coords[0])
            for side in (-1.0, 1.0)
        )
        if np.hypot(*(b - a)) < 0.9 * width:
            continue
        along = (b - a) / np.hypot(*(b - a))
        if (along[0], along[1]) < (-1e-9, 0.0):
            along, a = -along, b
        across = np.array([-along[1], along[0]])
        turn = np.array([along, across])
        for lift in (BESIDE, -BESIDE - height, 3.0 * BESIDE + height, -3.0 * BESIDE - 2.0 * height):
            foot = a + lift * across
            corners = np.array([[0, 0], [width, 0], [width, height], [0, height]]) @ turn + foot
            box = shapely.Polygon(corners)
            if shapely.dwithin(clear, box, 0.5) or shapely.dwithin(edge, box, BESIDE):
                continue
            if body.contains(box):
                return [stroke @ turn + foot for stroke in strokes]
    return []


BESIDE = 3.0
"""Between a line and the label beside it, mm."""


def _spots(body: Polygon) -> Array:
    """Places to try (n, 2): the roomiest, then a grid from the middle of the part outwards."""
    roomiest = np.array(shapely.maximum_inscribed_circle(body, tolerance=1.0).coords[0])
    middle = body.centroid
    if body.contains(middle):
        room = shapely.maximum_inscribed_circle(body, tolerance=1.0).length
        if body.exterior.distance(middle) > 0.9 * room:  # as roomy, and where one looks for it
            roomiest = np.array(middle.coords[0])
    x0, y0, x1, y1 = body.bounds
    fractions = np.arange(1, PLACES + 1) / (PLACES + 1)
    grid = np.stack(
        np.meshgrid(x0 + (x1 - x0) * fractions, y0 + (y1 - y0) * fractions), axis=-1
    ).reshape(-1, 2)
    away = np.hypot(*(grid - roomiest).T)
    return np.vstack([roomiest, grid[np.argsort(away, kind="stable")]])
