"""A layout read back from summary.json, so that files can be compared with what was laid out."""

from math import radians
from typing import Any

import numpy as np

from lofting.findings import Refused
from lofting.parts import FlatPart, Group, Mark, MarkKind
from nesting.layout import Cut
from nesting.plan import Blank, Bound, Joint, Nest, Placement


def nest_from_record(record: dict[str, Any]) -> Nest:
    """The layout of a summary, without what was only measured.

    Raises:
        Refused: the record is not one that this program wrote.
    """
    try:
        return Nest(
            tuple(_blank(b) for b in record["blanks"]),
            (),
            int(record["nest"]["sheets"]),
            Bound(int(record["nest"]["sheets_lower_bound"]), ""),
            "",
            float(record["nest"]["utilisation"]),
            float(record["nest"]["joint_metres"]),
            float(record["nest"]["glued_area_m2"]),
            float(record["nest"]["seconds"]),
            extra_parts=tuple(_part(p) for p in record["extra_parts"]),
            cuts=tuple(Cut(**cut) for cut in record.get("cuts", ())),
        )
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise Refused(
            "summary.json",
            f"the layout in it cannot be read ({error!r}).",
            "Build the folder again.",
        ) from None


def _blank(record: dict[str, Any]) -> Blank:
    return Blank(
        record["name"],
        record["material"],
        record["thickness_mm"],
        record["sheets"],
        record["sheet_length_mm"],
        record["length_mm"],
        record["width_mm"],
        tuple(
            Joint(start, end, feather)
            for (start, end), feather in zip(
                record["joints_x_mm"], record["feathers_x_mm"], strict=True
            )
        ),
        tuple(
            Placement(
                p["name"],
                p["copy"],
                p["x_mm"],
                p["y_mm"],
                radians(p["rotation_deg"]),
                p["mirrored"],
            )
            for p in record["parts"]
        ),
    )


def _part(record: dict[str, Any]) -> FlatPart:
    return FlatPart(
        record["name"],
        Group(record["group"]),
        record["thickness_mm"],
        record["material"],
        np.array(record["outline"], dtype=float),
        tuple(record["corners"]),
        quantity=record["quantity"],
        handed=record["handed"],
        holes=tuple(np.array(hole, dtype=float) for hole in record["holes"]),
        marks=tuple(
            Mark(MarkKind(m["kind"]), np.array(m["points"], dtype=float), m["label"])
            for m in record["marks"]
        ),
        edges=tuple(record["edges"]),
        corner_names=tuple(record["corner_names"]),
    )
