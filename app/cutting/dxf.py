"""DXF for the router: layers in plain words, closed outlines with arcs, one unit a millimetre."""

import io
import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import Any

from app.cutting.contours import cut_all, cut_blank
from app.cutting.values import Cutting, CuttingOptions, Layer
from lofting.findings import Finding, Refused
from lofting.parts import FlatPart
from nesting.plan import Blank

__all__ = ["CuttingOptions", "Layer", "dxf_text", "write_blank_dxf", "write_parts_dxf"]

INCH = 25.4

_COLOURS = {
    Layer.OUTLINE: 7,
    Layer.INSIDE: 4,
    Layer.HOLES: 6,
    Layer.MARKS: 3,
    Layer.JOINTS: 1,
    Layer.TEXT: 5,
    Layer.SHEET: 8,
}
"""Colour numbers of the layers (AutoCAD colour index, DXF reference): each its own."""

_writing = Lock()


@contextmanager
def _without_clock() -> Iterator[None]:
    """The library writes no time of day and no random ids: equal parts give equal bytes."""
    import ezdxf

    with _writing:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        log = logging.getLogger("ezdxf")
        level = log.level
        log.setLevel(logging.ERROR)  # it warns that the old form has no units: known, and said
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before
            log.setLevel(level)


def dxf_text(cutting: Cutting, options: CuttingOptions) -> str:
    """The file's text: AC1015 with $INSUNITS and $MEASUREMENT, or AC1009 for old controllers."""
    import ezdxf

    scale = 1.0 / INCH if options.inches else 1.0
    with _without_clock():
        document = ezdxf.new("R12" if options.r12 else "R2000", setup=False)
        if options.r12:
            del document.header["$INSUNITS"]  # not part of the old form
        else:
            document.header["$INSUNITS"] = 1 if options.inches else 4
            document.header["$MEASUREMENT"] = 0 if options.inches else 1
        for layer in Layer:
            document.layers.add(layer.value, color=_COLOURS[layer])
        space = document.modelspace()
        for contour in cutting.contours:
            vertices = contour.vertices * [scale, scale, 1.0]
            points = [tuple(map(float, vertex)) for vertex in vertices]
            look = {"layer": contour.layer.value}
            add: Any = space.add_polyline2d if options.r12 else space.add_lwpolyline
            add(points, format="xyb", close=contour.closed, dxfattribs=look)
        for circle in cutting.circles:
            space.add_circle(
                (circle.x * scale, circle.y * scale),
                circle.radius * scale,
                dxfattribs={"layer": circle.layer.value},
            )
        low, high = _extents(cutting, scale)
        document.header["$EXTMIN"] = (*low, 0.0)
        document.header["$EXTMAX"] = (*high, 0.0)
        out = io.StringIO()
        document.write(out)
    return out.getvalue()


def _extents(cutting: Cutting, scale: float) -> tuple[tuple[float, float], tuple[float, float]]:
    xs = [float(x) * scale for c in cutting.contours for x in c.vertices[:, 0]]
    ys = [float(y) * scale for c in cutting.contours for y in c.vertices[:, 1]]
    if not xs:
        return (0.0, 0.0), (0.0, 0.0)
    return (min(xs), min(ys)), (max(xs), max(ys))


def write_blank_dxf(
    path: Path | str,
    blank: Blank,
    parts: Sequence[FlatPart],
    options: CuttingOptions | None = None,
) -> tuple[Finding, ...]:
    """Write one blank with all parts that lie on it; returns what was noticed.

    Raises:
        Refused: the file cannot be written.
    """
    options = options or CuttingOptions()
    cutting = cut_blank(blank, parts, options)
    _write(Path(path), dxf_text(cutting, options))
    return cutting.findings


def write_parts_dxf(
    path: Path | str, parts: Sequence[FlatPart], options: CuttingOptions | None = None
) -> tuple[Finding, ...]:
    """Write every part once, laid in rows; returns what was noticed.

    Raises:
        Refused: the file cannot be written.
    """
    options = options or CuttingOptions()
    cutting = cut_all(parts, options)
    _write(Path(path), dxf_text(cutting, options))
    return cutting.findings


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise Refused(
            str(path),
            f"the cutting file cannot be written ({error.strerror or error}).",
            "Choose another folder, or close the program that holds the file.",
        ) from error
