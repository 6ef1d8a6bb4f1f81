"""The table of offsets: as typed, as read into millimetres, as CSV, as pasted, as printed back."""

from lofting.offsets.long_form import read_long_csv, write_long_csv
from lofting.offsets.paste import understand_paste
from lofting.offsets.pasted_value import PastedFigure, PasteQuestion, PasteReading
from lofting.offsets.reading import from_keel_up, read_figure, read_table
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
from lofting.offsets.traditional import (
    guess_role,
    looks_traditional,
    read_traditional,
    write_traditional,
)

__all__ = [
    "Breadths",
    "Conventions",
    "Face",
    "Heights",
    "LinePoint",
    "OffsetTable",
    "PasteQuestion",
    "PasteReading",
    "PastedFigure",
    "PointMark",
    "Role",
    "StationsFrom",
    "TableLine",
    "TypedLine",
    "TypedPoint",
    "TypedStation",
    "TypedTable",
    "boat_value",
    "from_keel_up",
    "guess_role",
    "looks_traditional",
    "plan_value",
    "read_figure",
    "read_long_csv",
    "read_table",
    "read_traditional",
    "reprint",
    "understand_paste",
    "write_long_csv",
    "write_traditional",
]
