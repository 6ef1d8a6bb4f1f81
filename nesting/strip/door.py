"""The one door to the packing library (spyrrow): outlines cleaned before, results checked after,
the library itself in a process that may die without harm.

The library packs outlines on a strip by letting them overlap and driving the overlaps out
(Gardeyn, Vanden Berghe and Wauters 2025, arXiv 2509.13329). It panics on outlines that touch or
cross themselves and far from the origin, and takes whole seconds; all of that stays in here.
"""

import importlib.util
import json
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, pi, radians
from pathlib import Path
from queue import Empty, SimpleQueue

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform
from shapely.geometry import MultiPolygon, Polygon

from lofting.findings import Refused
from lofting.progress import SILENT, Progress
from lofting.tolerances import COINCIDENT

Array = NDArray[np.float64]

CHILD = Path(__file__).with_name("child.py")

FAR = 2.0e4
"""Outlines larger than this, or smaller than a thousandth of the strip, are not for the library."""

GRACE = 2.5
"""Seconds the library may overrun before it is ended (it was seen to overrun by up to 2.2; its last
seconds, in which it compresses the packing, are worth a point of density)."""

NEAR = 1.0e4
"""Outlines no farther than this from the origin are handed over where they are."""


@dataclass(frozen=True, eq=False)
class StripItem:
    """An outline (n, 2) to pack `demand` times, turned only by the angles given, rad."""

    name: str
    outline: Array
    demand: int = 1
    turns: tuple[float, ...] = (0.0,)


@dataclass(frozen=True)
class StripPlacement:
    """One copy: outline turned by rotation rad about its own origin, then moved by (x, y)."""

    name: str
    x: float
    y: float
    rotation: float


@dataclass(frozen=True)
class PackedStrip:
    """Length used and where every copy lies."""

    length: float
    placements: tuple[StripPlacement, ...]


def library_there() -> bool:
    """Whether the packing library is installed (it has no build for every machine)."""
    return importlib.util.find_spec("spyrrow") is not None


def pack_strip(
    items: Sequence[StripItem],
    width: float,
    *,
    seconds: float = 5.0,
    seed: int = 1,
    separation: float = 0.0,
    workers: int = 2,
    progress: Progress = SILENT,
) -> PackedStrip:
    """Pack every copy on a strip of the given width (along y) to little length along x.

    Items lie at least `separation` (mm, or the items' own unit) from each other and from the
    strip's edges and ends. The result is checked with shapely before it is handed out.

    Raises:
        Refused: an outline is no outline (fewer than three corners, crossing itself, not
            finite), is wider than the strip any way it may be turned, or a figure is nonsense.
        Cancelled: when the progress says so.
    """
    _check_request(items, width, separation)
    clean = [_clean(item, width, separation) for item in items]
    if not clean or not sum(i.demand for i in clean):
        return PackedStrip(0.0, ())
    begin = time.perf_counter()
    found: PackedStrip | None = None
    if library_there() and seconds >= 1.0:
        found = squeeze(
            clean,
            width,
            seconds=seconds,
            seed=seed,
            separation=separation,
            workers=workers,
            progress=progress,
        )
    if found is None:
        from nesting.strip.shrinking import pack_by_driving_apart

        left = max(0.5, seconds - (time.perf_counter() - begin))
        found = pack_by_driving_apart(
            clean, width, seconds=left, seed=seed, separation=separation, progress=progress
        )
    return found


def squeeze(
    items: Sequence[StripItem],
    width: float,
    *,
    seconds: float,
    seed: int = 1,
    separation: float = 0.0,
    workers: int = 1,
    target: float = 0.0,
    reports: int = 10**9,
    progress: Progress = SILENT,
) -> PackedStrip | None:
    """The library's best packing, None if it failed or none of its packings passes the check.

    target: stop at the first packing this short. reports: stop after so many of the library's
    progress reports; with one worker the same seed then gives the same packing each time, unless
    the clock ends it first.
    """
    if not library_there():
        return None
    scale = max(width, max(float(np.ptp(i.outline, axis=0).max()) for i in items))
    unit = 1.0 if scale <= FAR else 1.0e4 / scale
    numbered = {str(k): item for k, item in enumerate(items)}
    offsets = {
        key: _offset(np.asarray(item.outline) * unit) / unit for key, item in numbered.items()
    }
    whole = max(1, int(seconds))
    compression = 0 if target > 0.0 else (whole + 2) // 5
    request = {
        "items": [
            {
                "id": key,
                "outline": ((np.asarray(item.outline) - offsets[key]) * unit).tolist(),
                "demand": item.demand,
                "turns": [degrees(t) for t in item.turns] or [0.0],
            }
            for key, item in numbered.items()
        ],
        "width": (width + 2 * COINCIDENT) * unit,
        "separation": separation * unit,
        "exploration": whole - compression,
        "compression": compression,
        "workers": max(1, workers),
        "seed": seed,
        "target": target * unit,
        "reports": reports,
    }
    answers = _run(request, seconds + GRACE, progress)
    for answer in reversed(answers[-3:]):
        packed = _read(answer, numbered, offsets, unit, width, separation)
        if packed is not None and is_sound(packed, items, width, separation):
            return packed
    return None


def _offset(outline: Array) -> Array:
    """What to move an outline by before the library sees it: nothing unless it is far away."""
    far = float(np.abs(outline).max()) > NEAR
    offset: Array = outline.mean(axis=0) if far else np.zeros(2)
    return offset


def _run(request: dict[str, object], limit: float, progress: Progress) -> list[dict[str, object]]:
    """Start the child, gather what it prints until it ends or the limit is reached."""
    try:
        child = subprocess.Popen(
            [sys.executable, str(CHILD)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
    except OSError:
        return []
    lines: SimpleQueue[str | None] = SimpleQueue()

    def listen() -> None:
        assert child.stdout is not None
        for line in child.stdout:
            lines.put(line)
        lines.put(None)

    answers: list[dict[str, object]] = []
    try:
        assert child.stdin is not None
        try:
            child.stdin.write(json.dumps(request))
            child.stdin.close()
        except OSError:
            return []
        threading.Thread(target=listen, daemon=True).start()
        end = time.perf_counter() + limit
        while time.perf_counter() < end:
            progress.check()
            try:
                line = lines.get(timeout=0.03)
            except Empty:
                continue
            if line is None:
                break
            try:
                answers.append(json.loads(line))
            except ValueError:
                break
    finally:
        child.kill()
        child.wait()
    return answers


def _read(
    answer: dict[str, object],
    numbered: dict[str, StripItem],
    offsets: dict[str, Array],
    unit: float,
    width: float,
    separation: float,
) -> PackedStrip | None:
    """A packing in the items' own coordinates, pushed back by the hair the strip was widened."""
    placements = []
    right = 0.0
    try:
        for key, x, y, turn in answer["placed"]:  # type: ignore[attr-defined]
            item = numbered[str(key)]
            rotation = radians(float(turn))
            rotation = min(
                item.turns or (0.0,), key=lambda t: abs((t - rotation + pi) % (2 * pi) - pi)
            )
            matrix = _matrix(rotation)
            shift = np.array([float(x), float(y)]) / unit - matrix @ offsets[str(key)]
            shift[1] -= COINCIDENT
            laid = np.asarray(item.outline) @ matrix.T + shift
            low, high = float(laid[:, 1].min()), float(laid[:, 1].max())
            if low < separation:
                shift[1] += min(separation - low, 4 * COINCIDENT)
            elif high > width - separation:
                shift[1] -= min(high - width + separation, 4 * COINCIDENT)
            right = max(right, float(laid[:, 0].max()))
            placements.append(StripPlacement(item.name, float(shift[0]), float(shift[1]), rotation))
    except (KeyError, TypeError, ValueError):
        return None
    return PackedStrip(right + separation, tuple(placements))


def _matrix(rotation: float) -> Array:
    c, s = np.cos(rotation), np.sin(rotation)
    return np.round(np.array([[c, -s], [s, c]]), 15)


def is_sound(
    packed: PackedStrip, items: Sequence[StripItem], width: float, separation: float
) -> bool:
    """Whether a packing holds every copy, inside the strip, far enough apart (to COINCIDENT, or
    a millionth of the strip's width where that is more)."""
    slack = max(4 * COINCIDENT, 1e-6 * width)
    by_name = {item.name: item for item in items}
    if Counter(p.name for p in packed.placements) != Counter(
        {item.name: item.demand for item in items if item.demand}
    ):
        return False
    polygons = []
    for p in packed.placements:
        (a, b), (d, e) = _matrix(p.rotation)
        polygon = affine_transform(Polygon(by_name[p.name].outline), [a, b, d, e, p.x, p.y])
        low_x, low_y, high_x, high_y = polygon.bounds
        if (
            low_x < separation - slack
            or low_y < separation - slack
            or high_x > packed.length - separation + slack
            or high_y > width - separation + slack
        ):
            return False
        polygons.append(polygon)
    tree = shapely.STRtree(polygons)
    for i, j in tree.query(polygons, predicate="dwithin", distance=max(separation, slack)).T:
        if i < j:
            if separation > 0.0 and polygons[i].distance(polygons[j]) < separation - slack:
                return False
            shared = polygons[i].intersection(polygons[j])
            if shared.area > slack * (1.0 + shared.length):
                return False
    return True


def _check_request(items: Sequence[StripItem], width: float, separation: float) -> None:
    if not (np.isfinite(width) and width > 0.0):
        raise Refused("strip", f"A strip {width:g} wide holds nothing.", "Give a width above zero.")
    if not (np.isfinite(separation) and separation >= 0.0):
        raise Refused("strip", f"A gap of {separation:g} is no gap.", "Give zero or more.")
    if 2 * separation >= width:
        raise Refused("strip", "The gap is larger than the strip.", "Give a smaller gap.")
    names = Counter(item.name for item in items)
    for item in items:
        if names[item.name] > 1:
            raise Refused(item.name, "Two items have this name.", "Give each its own name.")
        if item.demand < 0:
            raise Refused(item.name, f"{item.demand} copies were asked.", "Ask for one or more.")


def _clean(item: StripItem, width: float, separation: float) -> StripItem:
    """The item with its outline finite, simple, anticlockwise, without repeated corners."""
    outline = np.asarray(item.outline, dtype=float)
    if outline.ndim != 2 or outline.shape[-1] != 2 or len(outline) < 3:
        raise Refused(item.name, "An outline needs three corners.", "Complete the outline.")
    if not np.all(np.isfinite(outline)):
        raise Refused(item.name, "A corner of the outline is no number.", "Mend the outline.")
    keep = np.any(np.abs(outline - np.roll(outline, 1, axis=0)) > 1e-9 * width, axis=1)
    outline = outline[keep]
    polygon = Polygon(outline) if len(outline) >= 3 else Polygon()
    if not polygon.is_valid:
        mended = polygon.buffer(0)
        if isinstance(mended, MultiPolygon) or mended.is_empty:
            raise Refused(item.name, "The outline crosses itself.", "Mend the outline.")
        if abs(mended.area - Polygon(outline).convex_hull.area) > mended.area:
            raise Refused(item.name, "The outline crosses itself.", "Mend the outline.")
        polygon = mended
    if polygon.area <= 1e-12 * width * width:
        raise Refused(item.name, "The outline has no area.", "Mend the outline.")
    ring = shapely.get_coordinates(shapely.orient_polygons(polygon).exterior)[:-1]
    turns = tuple(item.turns) or (0.0,)
    least = min(float(np.ptp((ring @ _matrix(t).T)[:, 1])) for t in turns)
    if least > width - 2 * separation + COINCIDENT:
        raise Refused(
            item.name,
            f"It is {least:.1f} wide and the strip leaves {width - 2 * separation:.1f}.",
            "Use a wider strip or let it turn.",
        )
    fitting = tuple(
        t
        for t in turns
        if float(np.ptp((ring @ _matrix(t).T)[:, 1])) <= width - 2 * separation + COINCIDENT
    )
    return StripItem(item.name, ring, item.demand, fitting)
