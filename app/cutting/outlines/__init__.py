"""Outlines of own parts read from drawings of other programs: DXF and SVG, forgivingly, with a
list of what was mended."""

from app.cutting.outlines.reading import read_outlines
from app.cutting.outlines.rings import ReadOutline, ReadOutlines
from app.cutting.outlines.units import UNITS, UnitUnknown

__all__ = ["UNITS", "ReadOutline", "ReadOutlines", "UnitUnknown", "read_outlines"]
