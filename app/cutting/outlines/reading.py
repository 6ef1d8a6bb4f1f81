"""One door for drawings: by the file's ending to the right reader, whatever the file holds."""

from pathlib import Path

import numpy as np

from app.cutting.outlines.rings import Piece, ReadOutlines, assemble
from app.cutting.outlines.units import UNITS, UnitUnknown
from lofting.findings import Refused

LARGEST = 30_000_000
"""Bytes of a drawing read at most; an outline of a part has a thousandth of that."""


def read_outlines(path: Path | str, *, unit: str | None = None) -> ReadOutlines:
    """Every closed outline of a DXF or SVG file.

    Args:
        path: the file.
        unit: one of UNITS where the file does not say its own; overrides it where it does.

    Raises:
        UnitUnknown: the file does not say its unit; ask, then read again with `unit`.
        Refused: the file cannot be read, or holds no closed outline.
    """
    path = Path(path)
    kind = path.suffix.lower()
    if kind not in (".dxf", ".svg"):
        raise Refused(str(path), "it is neither DXF nor SVG.", "Write the outline as DXF or SVG.")
    if unit is not None and unit not in UNITS:
        raise Refused(str(path), f"“{unit}” is no unit.", f"Known units: {', '.join(UNITS)}.")
    try:
        size = path.stat().st_size
    except OSError as error:
        raise Refused(
            str(path), f"it cannot be opened ({error.strerror}).", "Choose another file."
        ) from error
    if size > LARGEST:
        raise Refused(
            str(path),
            f"it is {size / 1e6:.0f} MB large.",
            "Write just the outlines wanted to a file of their own.",
        )
    if kind == ".dxf":
        from app.cutting.outlines.from_dxf import dxf_pieces

        pieces, own_unit, said = dxf_pieces(path, None if unit is None else UNITS[unit])
    else:
        from app.cutting.outlines.from_svg import svg_pieces

        pieces, own_unit, said = svg_pieces(path, None if unit is None else UNITS[unit])
    if not pieces:
        raise Refused(
            str(path),
            "it holds no lines that could be an outline.",
            "Draw the outline as lines, arcs, polylines, splines or circles.",
        )
    if own_unit is None and unit is None:
        points = np.vstack([piece.points for piece in pieces])
        length, width = np.ptp(points, axis=0)
        raise UnitUnknown(str(path), float(length), float(width))
    found = assemble(pieces)
    if not found.outlines:
        told = f" ({'; '.join(found.mended[:3])})" if found.mended else ""
        raise Refused(
            str(path),
            f"it holds no closed outline{told}.",
            "Join the lines of each outline so that it closes.",
        )
    return ReadOutlines(found.outlines, (*said, *found.mended))


__all__ = ["Piece", "read_outlines"]
