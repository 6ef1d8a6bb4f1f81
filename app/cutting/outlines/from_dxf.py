"""The lines of a DXF file, read forgivingly: lines, arcs, circles, ellipses, splines, polylines,
also inside blocks."""

from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from app.cutting.outlines.rings import Piece
from lofting.findings import Refused

FINE = 0.005
"""Curves are read as chords that depart no more than this from them, mm."""

DEPTH = 8
"""Blocks inside blocks are followed this deep."""

_CURVES = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")
_UNITS = {
    1: 25.4,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 25.4e-3,
    10: 914.4,
    13: 1e-3,
    14: 100.0,
}
"""$INSUNITS in mm (DXF reference, HEADER section)."""

_CUT_LAYERS = {"OUTLINE", "INSIDE", "HOLES"}


def dxf_pieces(path: Path, unit: float | None) -> tuple[list[Piece], float | None, tuple[str, ...]]:
    """Pieces in mm (in drawing units where the unit is not known), the file's unit in mm or
    None, and what was noticed. Raises Refused when the file cannot be read."""
    from ezdxf import recover

    try:
        document, auditor = recover.readfile(str(path))
    except Exception as error:  # what a reader stumbles over in a damaged file can be anything
        raise _unreadable(path, error) from error
    said = []
    if auditor.errors:
        said.append(f"{len(auditor.errors)} faults of the file were passed over")
    own = None
    if document.dxfversion > "AC1009":
        own = _UNITS.get(int(document.header.get("$INSUNITS", 0)))
    scale = unit if unit is not None else own
    fine = FINE / (scale or 1.0)
    entities = list(_entities(document.modelspace(), 0))
    layers = {e.dxf.get("layer", "0") for e in entities}
    if "OUTLINE" in layers:  # a cutting file: what is drawn on sheets and joints is no part
        entities = [e for e in entities if e.dxf.get("layer", "0") in _CUT_LAYERS]
    pieces = []
    passed: Counter[str] = Counter()
    for entity in entities:
        if entity.dxftype() not in _CURVES:
            passed[entity.dxftype()] += 1
            continue
        pieces.extend(_pieces(entity, fine, scale or 1.0))
    if passed:
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(passed.items()))
        said.append(f"passed over: {kinds}")
    return pieces, own, tuple(said)


def _unreadable(path: Path, error: Exception) -> Refused:
    return Refused(
        str(path),
        f"it cannot be read as DXF ({error}).",
        "Write it again from the drawing program, as DXF 2000 or R12.",
    )


def _entities(space: Iterable[Any], depth: int) -> Iterator[Any]:
    """All entities, those of inserted blocks included."""
    for entity in space:
        if entity.dxftype() == "INSERT":
            if depth < DEPTH:
                yield from _entities(entity.virtual_entities(), depth + 1)
        else:
            yield entity


def _pieces(entity: Any, fine: float, scale: float) -> list[Piece]:
    """An entity as pieces in mm; nothing where it has no length or no numbers."""
    from ezdxf.path import make_path

    try:
        path = make_path(entity)
    except (TypeError, ValueError, ArithmeticError):
        return []
    out = []
    for part in path.sub_paths():
        points = np.array([(v.x, v.y) for v in part.flattening(fine)], dtype=float) * scale
        if len(points) < 2 or not np.isfinite(points).all():
            continue
        apart = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > 1e-9])
        points = points[apart]
        if len(points) < 2:
            continue
        closed = len(points) > 3 and float(np.hypot(*(points[0] - points[-1]))) < 1e-6
        layer = entity.dxf.get("layer", "0")
        name = "" if layer in ("0", *_CUT_LAYERS) else str(layer)
        out.append(Piece(points[:-1] if closed else points, closed, name))
    return out
