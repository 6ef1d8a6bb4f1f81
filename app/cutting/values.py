"""What is on a cutting file, as values: layers, contours, circles, and how files are written."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding
from lofting.tolerances import OUTLINE

Array = NDArray[np.float64]


class Layer(StrEnum):
    """Layers of the cutting files."""

    OUTLINE = "OUTLINE"
    INSIDE = "INSIDE"
    HOLES = "HOLES"
    MARKS = "MARKS"
    JOINTS = "JOINTS"
    TEXT = "TEXT"
    SHEET = "SHEET"


@dataclass(frozen=True)
class CuttingOptions:
    """How cutting files are written.

    Attributes:
        inches: lengths in inches in place of millimetres.
        arcs: curves as arcs fitted within arc_tolerance mm; else points only.
        r12: the old form of the file for old controllers.
        tool_diameter: mm, 0: unknown; inside corners are relieved for it.
        hole_diameter: of stitch holes, mm. largest_hole: round openings up to this diameter
            (mm) are circles on the layer of holes.
        names: part names as single strokes. text_height: of names, mm; mark_height: of what
            lands at a landing line, mm.
        marks: landing lines, stations and other marks.
        turned_over: the sheet lies with its other face up: everything mirrored across it.
    """

    inches: bool = False
    arcs: bool = True
    arc_tolerance: float = OUTLINE
    r12: bool = False
    tool_diameter: float = 0.0
    hole_diameter: float = 2.0
    largest_hole: float = 30.0
    names: bool = True
    text_height: float = 20.0
    mark_height: float = 8.0
    marks: bool = True
    turned_over: bool = False


@dataclass(frozen=True, eq=False)
class Contour:
    """A line of vertices with bulges (k, 3) on a layer, mm; part: whose it is."""

    layer: Layer
    vertices: Array
    closed: bool
    part: str = ""


@dataclass(frozen=True, eq=False)
class Circle:
    """A hole to drill or mill: centre (x, y) and radius, mm."""

    layer: Layer
    x: float
    y: float
    radius: float
    part: str = ""


@dataclass(frozen=True, eq=False)
class Cutting:
    """Everything on one file in order, and what was noticed."""

    contours: tuple[Contour, ...]
    circles: tuple[Circle, ...]
    findings: tuple[Finding, ...] = ()
