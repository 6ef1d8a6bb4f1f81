"""Cutting files read again by two independent readers and compared with the parts themselves.

The first reader is ezdxf, strict and with its audit, the second GDAL/OGR through pyogrio where
that is installed (it is no part of the program). What they find on the cutting layers is
compared, contour by contour, with the parts' own rings: neither the fitted arcs nor anything
else of the writer is asked.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from app.cutting.contours import laid_in_rows, place
from app.cutting.relief import relieve
from app.cutting.values import CuttingOptions, Layer
from app.readback.distances import along, farthest
from app.summary import ReadBack
from lofting.parts import FlatPart
from lofting.tolerances import OUTLINE
from nesting.plan import Blank, Placement

Array = NDArray[np.float64]

WRITTEN = 0.005
"""What rounding and a second arc may add to the arc tolerance, mm."""

FINE = 0.001
"""Arcs are read as chords that depart no more than this from them, mm."""

SAME = 1e-6
"""Points closer than this are one: a reader's own rounding."""

INCH = 25.4
_CUT = (Layer.OUTLINE.value, Layer.INSIDE.value)


@dataclass(frozen=True, eq=False)
class ReadFile:
    """What a reader found: closed rings and round holes per layer (mm), complaints; where
    joints run across, x in mm, and lines of marks (None where the reader does not look)."""

    rings: tuple[tuple[str, Array], ...]
    notes: tuple[str, ...]
    joints: tuple[float, ...] | None = None
    marks: tuple[Array, ...] | None = None


def read_by_ezdxf(path: Path | str, *, unit: float = 1.0) -> ReadFile:
    """Read strictly and audited: rings in mm, a note for every error or repair.

    unit: mm to one unit of a file too old to say its own.
    """
    import ezdxf
    from ezdxf import recover

    notes: list[str] = []
    try:
        # The strict door: it refuses what would need mending, and is the faster one.
        document = ezdxf.readfile(str(path))
        auditor = document.audit()
    except Exception as strict:  # what a reader stumbles over in a damaged file can be anything
        try:
            document, auditor = recover.readfile(str(path))
        except Exception as error:
            return ReadFile((), (f"it cannot be read as DXF ({error or strict})",))
        notes.append(f"it opens only with repair ({strict})")
    notes += [f"audit: {e.message}" for e in [*auditor.errors, *auditor.fixes]]
    scale = unit
    if document.dxfversion > "AC1009":
        units = document.header.get("$INSUNITS", 0)
        if units not in (1, 4):
            notes.append(f"its unit is {units}, neither millimetres (4) nor inches (1)")
        scale = INCH if units == 1 else 1.0
        if document.header.get("$MEASUREMENT", 0) != (0 if units == 1 else 1):
            notes.append("its $MEASUREMENT contradicts its unit")
    rings = []
    joints, marks = [], []
    for entity in document.modelspace():
        layer = entity.dxf.layer
        if layer == Layer.JOINTS.value:
            line, _closed = _ezdxf_ring(entity, FINE / scale)
            if len(line) == 2 and line[0, 0] == line[1, 0]:
                joints.append(float(line[0, 0]) * scale)
            else:
                notes.append("a joint is no line across the sheet")
        elif layer == Layer.MARKS.value:
            marks.append(_ezdxf_ring(entity, FINE / scale)[0] * scale)
        if entity.dxftype() == "CIRCLE":
            centre = entity.dxf.center
            radius = entity.dxf.radius * scale
            ring = _circle(np.array([centre.x, centre.y]) * scale, radius)
            rings.append((layer, ring))
        elif layer in _CUT or layer == Layer.SHEET.value:
            ring, closed = _ezdxf_ring(entity, FINE / scale)
            if not closed:
                notes.append(f"an open line lies on {layer}")
            elif len(ring) > 2:
                rings.append((layer, ring * scale))
    return ReadFile(tuple(rings), tuple(notes), tuple(joints), tuple(marks))


def _ezdxf_ring(entity: Any, fine: float) -> tuple[Array, bool]:
    """The points of a polyline, arcs as fine chords, and whether it is closed."""
    if entity.dxftype() == "LWPOLYLINE":
        corners = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
        closed = bool(entity.closed)
    elif entity.dxftype() == "POLYLINE":
        corners = [
            (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices
        ]
        closed = bool(entity.is_closed)
    else:
        return np.zeros((0, 2)), False
    ends = [*corners[1:], corners[0]] if closed else corners[1:]
    runs = [_run(one, other, fine) for one, other in zip(corners, ends, strict=False)]
    points = np.concatenate([*runs, np.array([corners[-1][:2]])[: 0 if closed else 1]])
    apart = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > SAME
    return points[apart] if closed else points, closed


def _run(start: tuple[float, float, float], end: tuple[float, float, float], fine: float) -> Array:
    """Points (n, 2) from start up to, not including, end: a straight line or the true arc of
    the start's bulge (not the reader's own curve through it, which strays from wide arcs)."""
    from ezdxf.math import bulge_to_arc

    if abs(start[2]) < 1e-12 or start[:2] == end[:2]:
        return np.array([start[:2]])
    centre, first, last, radius = bulge_to_arc(start[:2], end[:2], start[2])
    sweep = (last - first) % (2.0 * np.pi)
    step = 2.0 * np.arccos(max(1.0 - fine / radius, 0.0))
    angles = first + sweep * np.linspace(0.0, 1.0, int(np.ceil(sweep / step)) + 1)
    if start[2] < 0:  # the arc runs anticlockwise; this one is met from its other end
        angles = angles[::-1]
    return np.column_stack(
        [centre.x + radius * np.cos(angles), centre.y + radius * np.sin(angles)]
    )[:-1]


def _circle(centre: Array, radius: float) -> Array:
    angle = np.linspace(0.0, 2.0 * np.pi, 128, endpoint=False)
    return centre + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def read_by_gdal(path: Path | str, *, inches: bool = False) -> ReadFile | None:
    """Read by GDAL/OGR; None where pyogrio is not installed. Rings in mm."""
    try:
        import pyogrio
    except ImportError:
        return None
    before = {"OGR_ARC_STEPSIZE": pyogrio.get_gdal_config_option("OGR_ARC_STEPSIZE")}
    found: list[tuple[str, Any]] = []
    try:
        # A hundredth of a degree: an arc of a kilometre's radius departs 0.004 mm from its chords.
        for step, layers in ((0.01, (*_CUT, Layer.SHEET.value)), (2.0, (Layer.HOLES.value,))):
            pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": step})
            named = ", ".join(f"'{layer}'" for layer in layers)
            read = pyogrio.raw.read(str(path), columns=["Layer"], where=f"Layer IN ({named})")
            if read[2] is not None and len(read[3]):
                found.extend(zip(read[3][0], shapely.from_wkb(read[2]), strict=True))
    except RuntimeError as error:  # the root of all its errors: source, layer, feature
        return ReadFile((), (f"GDAL cannot read it ({error})",))
    finally:
        pyogrio.set_gdal_config_options(before)
    scale = INCH if inches else 1.0
    rings, notes = [], []
    for layer, shape in found:
        line = shape.exterior if shape.geom_type == "Polygon" else shape
        points = shapely.get_coordinates(
            shapely.simplify(line, FINE / 2.0 / scale, preserve_topology=False)
        )
        if len(points) < 4 or np.hypot(*(points[0] - points[-1])) > 1e-6:
            notes.append(f"GDAL finds an open line on {layer}")
            continue
        rings.append((str(layer), points[:-1] * scale))
    return ReadFile(tuple(rings), tuple(notes))


def _expected(
    placed: Sequence[tuple[FlatPart, Placement]], options: CuttingOptions, over: float | None
) -> list[tuple[str, Array]]:
    """Every ring that must be in the file: (what it is, points (n, 2)), mm on the sheet."""
    rings = []
    for part, at in placed:
        cut = relieve(part.outline, part.corners, part.holes, options.tool_diameter)
        for index, ring in enumerate((cut.outline, *cut.holes)):
            points = place(ring, at)
            if over is not None:
                points = points * [1.0, -1.0] + [0.0, over]
            what = part.name if index == 0 else f"{part.name}, opening {index}"
            rings.append((what, points))
    return rings


def compare_rings(
    expected: Sequence[tuple[str, Array]], found: Sequence[Array], area_share: float
) -> tuple[float, list[str]]:
    """The largest distance (mm) between rings that belong together, both ways, and complaints:
    a ring missing, one too many, an area off by more than `area_share` of it."""
    largest = 0.0
    notes: list[str] = []
    left = [Polygon(ring) for ring in found]
    for polygon in left:
        if not polygon.is_valid:
            notes.append("a contour crosses itself")
    for what, ring in expected:
        wanted = Polygon(ring)
        if not left:
            notes.append(f"{what} is missing")
            continue
        away = [abs(np.subtract(p.bounds, wanted.bounds)).max() for p in left]
        best = int(np.argmin(away))
        if away[best] > 5.0:
            notes.append(f"{what} is missing or in another place")
            continue
        got = left.pop(best)
        largest = max(largest, _apart(got, wanted))
        # Half the arc tolerance all along the edge is an area too, which counts in small parts.
        allowed = area_share * wanted.area + 0.5 * OUTLINE * wanted.length
        if abs(got.area - wanted.area) > allowed:
            notes.append(f"the area of {what} is {got.area:.0f} mm2, not {wanted.area:.0f}")
    notes.extend("there is a contour that belongs to no part" for _ in left)
    return largest, notes


def _apart(a: Polygon, b: Polygon) -> float:
    """The greatest distance between two rings, both ways, edges' middles included, mm."""
    rings = [shapely.get_coordinates(one.exterior) for one in (a, b)]
    dense = [np.vstack([ring, (ring[:-1] + ring[1:]) / 2.0]) for ring in rings]
    return max(farthest(dense[0], rings[1:]), farthest(dense[1], rings[:1]))


def _read_back(
    path: Path | str,
    expected: list[tuple[str, Array]],
    holes: int,
    options: CuttingOptions,
    marks: Sequence[tuple[Array, Polygon]],
    blank: Blank | None = None,
) -> ReadBack:
    path = Path(path)
    tolerance = (options.arc_tolerance if options.arcs else 0.0) + WRITTEN
    round_rings = [ring for ring in expected if _is_round(ring[1], options)]
    cut_rings = [ring for ring in expected if not _is_round(ring[1], options)]
    largest = 0.0
    notes: list[str] = []
    readers: list[tuple[str, Callable[[], ReadFile | None]]] = [
        ("ezdxf", lambda: read_by_ezdxf(path, unit=INCH if options.inches else 1.0)),
        ("GDAL", lambda: read_by_gdal(path, inches=options.inches)),
    ]
    for name, reader in readers:
        read = reader()
        if read is None:
            continue
        rings = read.rings
        found = [ring for layer, ring in rings if layer in _CUT]
        apart, complaints = compare_rings(cut_rings, found, 1e-4)
        largest = max(largest, apart)
        if blank is not None:
            edges = [ring for layer, ring in rings if layer == Layer.SHEET.value]
            apart, said = compare_rings([("the sheet's edge", _edge_of(blank))], edges, 1e-4)
            largest, complaints = max(largest, apart), complaints + said
            complaints += _joints_off(blank, read.joints) if read.joints is not None else []
        if read.marks is not None and options.marks:
            largest = max(largest, _marks_off(marks, read.marks))
        drilled = [ring for layer, ring in rings if layer == Layer.HOLES.value]
        if len(drilled) != holes + len(round_rings):
            complaints.append(f"{len(drilled)} round holes in place of {holes + len(round_rings)}")
        notes.extend(f"{name}: {note}" for note in (*read.notes, *complaints))
    return ReadBack(path.name, tolerance, largest, tuple(notes))


def _expected_marks(
    placed: Sequence[tuple[FlatPart, Placement]], over: float | None
) -> list[tuple[Array, Polygon]]:
    """Every line to mark where it lies on the sheet, with the part it belongs to."""
    found = []
    for part, at in placed:
        lines = [
            m.points for m in part.marks if len(m.points) > 1 and m.kind.value != "stitch hole"
        ]
        rings = [place(ring, at) for ring in (part.outline, *part.holes)]
        lines = [place(line, at) for line in lines]
        if over is not None:
            rings, lines = (
                [points * [1.0, -1.0] + [0.0, over] for points in group] for group in (rings, lines)
            )
        body = Polygon(rings[0], rings[1:])
        found += [(line, body) for line in lines]
    return found


STEP = 5.0
"""Distance of the points at which marks are compared, mm."""

WELL_INSIDE = 1.0
"""A mark this far from the edge of its part must be there, mm; nearer it may end short of it."""


def _marks_off(wanted: Sequence[tuple[Array, Polygon]], found: Sequence[Array]) -> float:
    """The greatest distance between marks read and marks of the parts, both ways, mm."""
    if not wanted or not found:
        inside = any(body.buffer(-WELL_INSIDE).intersects(_line(line)) for line, body in wanted)
        return float("inf") if found or inside else 0.0
    off = farthest(along(found, STEP), [line for line, _body in wanted])
    for line, body in wanted:
        dots = along([line], STEP)
        well = shapely.contains_xy(body.buffer(-WELL_INSIDE), dots)
        # Marks shorter than a millimetre inside the part are left out.
        if well.sum() > 2:
            off = max(off, farthest(dots[well], found))
    return off


def _line(points: Array) -> shapely.LineString:
    return shapely.LineString(points)


def _edge_of(blank: Blank) -> Array:
    return np.array(
        [[0.0, 0.0], [blank.length, 0.0], [blank.length, blank.width], [0, blank.width]]
    )


def _joints_off(blank: Blank, found: Sequence[float]) -> list[str]:
    """Feather edges of the blank's joints that are not where they should be."""
    wanted = sorted({x for joint in blank.joints for x in (joint.start, joint.end)})
    got = sorted(found)
    if len(got) != len(wanted):
        return [f"{len(got)} lines of joints in place of {len(wanted)}"]
    off = max((abs(a - b) for a, b in zip(wanted, got, strict=True)), default=0.0)
    return [f"a joint is {off:.2f} mm from its place"] if off > WRITTEN else []


def _is_round(ring: Array, options: CuttingOptions) -> bool:
    from app.cutting.arcs import fit_circle

    circle = fit_circle(ring, 2.0 * options.arc_tolerance)
    return circle is not None and 2.0 * circle[1] <= options.largest_hole


def _drilled(placed: Sequence[tuple[FlatPart, Placement]], options: CuttingOptions) -> int:
    """How many stitch holes there must be: places further apart than a hole is wide."""
    if options.hole_diameter <= 0.0:
        return 0
    count = 0
    for part, _ in placed:
        kept: list[Array] = []
        for mark in part.marks:
            if mark.kind.value != "stitch hole":
                continue
            for point in mark.points:
                if all(np.hypot(*(point - k)) > options.hole_diameter for k in kept):
                    kept.append(point)
        count += len(kept)
    return count


def read_back_blank(
    path: Path | str,
    blank: Blank,
    parts: Sequence[FlatPart],
    options: CuttingOptions | None = None,
) -> ReadBack:
    """Compare a blank's file with the parts laid on it. The tolerance is the arcs' plus 0.005
    mm; a missing, open, doubled or crossing contour is a note, and so is a wrong unit."""
    options = options or CuttingOptions()
    by_name = {part.name: part for part in parts}
    placed = [(by_name[at.part], at) for at in blank.placements]
    over = blank.width if options.turned_over else None
    expected, holes = _expected(placed, options, over), _drilled(placed, options)
    marks = _expected_marks(placed, over)
    return _read_back(path, expected, holes, options, marks, blank)


def read_back_parts(
    path: Path | str, parts: Sequence[FlatPart], options: CuttingOptions | None = None
) -> ReadBack:
    """Compare the file of all parts with the parts."""
    options = options or CuttingOptions()
    placed = laid_in_rows(parts)
    over = None
    if options.turned_over:
        over = max((at.y + part.outline[:, 1].max() for part, at in placed), default=0.0)
    expected, holes = _expected(placed, options, over), _drilled(placed, options)
    return _read_back(path, expected, holes, options, _expected_marks(placed, over))
