"""The table of offsets: as typed, as read into millimetres, as CSV, as pasted, as printed back."""

from lofting.offsets.long_form import read_long_csv, write_long_csv
from lofting.offsets.reading import read_figure, read_table
from lofting.offsets.reprinting import boat_value, plan_value, reprint
from lofting.offsets.table import (
    Breadths,
    Conventions,
    Face,
    Heights,
    LinePoint,
    OffsetTable,
    PointMark,
    Role,
    StationsFrom,
    TableLine,
    TypedLine,
    TypedPoint,
    TypedStation,
    TypedTable,
)

__all__ = [
    "Breadths",
    "Conventions",
    "Face",
    "Heights",
    "LinePoint",
    "OffsetTable",
    "PointMark",
    "Role",
    "StationsFrom",
    "TableLine",
    "TypedLine",
    "TypedPoint",
    "TypedStation",
    "TypedTable",
    "boat_value",
    "plan_value",
    "read_figure",
    "read_long_csv",
    "read_table",
    "reprint",
    "write_long_csv",
]
