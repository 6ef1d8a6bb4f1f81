"""Sticks that hold two points of a boat of flat panels apart while she is put together: as typed,
and where they stand on the flat panels. They are no parts of the boat and are taken out again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten
from lofting.findings import Finding, Refused, Severity
from lofting.lengths import read_length
from lofting.offsets import Conventions
from lofting.panelsheets.sheets import UPPER, panel_line

Array = NDArray[np.float64]

Edges = Mapping[str, tuple[Batten, Array]]
"""Every panel's edge by its name (`panel_line`): the edge over the plan's base line, and where
the flat part's origin (2,) lies there, mm."""


@dataclass(frozen=True)
class TypedSpreader:
    """A stick as the plan or the builder gives it.

    Attributes:
        panel, edge, x: its end: x along the panel's base line, as typed. length: inside to
            inside, as typed.
        to_panel, to_edge, to_x: its other end; an empty panel: the same point of the other side.
        across: the other end is on the other side of the boat.
    """

    name: str
    panel: str
    x: str
    length: str
    edge: str = UPPER
    to_panel: str = ""
    to_edge: str = UPPER
    to_x: str = ""
    across: bool = True


@dataclass(frozen=True)
class LaidSpreader:
    """A stick whose ends are known: panel and point on the flat part, mm; length mm."""

    name: str
    a: tuple[str, tuple[float, float]]
    b: tuple[str, tuple[float, float]]
    length: float
    across: bool


def lay_spreaders(
    spreaders: Sequence[TypedSpreader], edges: Edges, conventions: Conventions
) -> tuple[tuple[LaidSpreader, ...], tuple[Finding, ...]]:
    """The sticks that can be set, and a finding for each that cannot: the parts are cut without
    them all the same, so nothing stops."""
    laid, found = [], []
    for spreader in spreaders:
        try:
            laid.append(_laid(spreader, edges, conventions))
        except Refused as refused:
            found.append(
                Finding(
                    Severity.LOOK,
                    "spreader-left-out",
                    {"spreader": spreader.name},
                    f"{spreader.name} is left out: {refused.reason}",
                    refused.remedy,
                )
            )
    return tuple(laid), tuple(found)


def _laid(spreader: TypedSpreader, edges: Edges, conventions: Conventions) -> LaidSpreader:
    length = _figure(spreader.length, "its length", spreader, conventions)
    if length <= 0.0:
        raise Refused(
            spreader.name, "its length is nothing or less.", "Type its length, inside to inside."
        )
    a = _end(spreader, spreader.panel, spreader.edge, spreader.x, edges, conventions)
    if spreader.to_panel:
        b = _end(spreader, spreader.to_panel, spreader.to_edge, spreader.to_x, edges, conventions)
        if a == b and not spreader.across:
            raise Refused(
                spreader.name, "both its ends are one point.", "Give two places on that side."
            )
        return LaidSpreader(spreader.name, a, b, length, spreader.across)
    return LaidSpreader(spreader.name, a, a, length, True)


def _end(
    spreader: TypedSpreader,
    panel: str,
    edge: str,
    x: str,
    edges: Edges,
    conventions: Conventions,
) -> tuple[str, tuple[float, float]]:
    known = edges.get(panel_line(panel, edge))
    if known is None:
        raise Refused(
            spreader.name,
            f"there is no {edge} of a panel {panel} drawn.",
            "Name one of the panels, and its lower or upper edge.",
        )
    batten, origin = known
    point = batten.at_x(_figure(x, "the place of an end", spreader, conventions))
    if point is None:
        ends = batten.by_length(2)[1][:, 0]
        raise Refused(
            spreader.name,
            f"x {x} lies beyond the {edge} of {panel}, which runs from {ends.min():.0f} to "
            f"{ends.max():.0f} mm.",
            "Type where it stands along that panel's base line.",
        )
    place = point[[0, 2]] - origin
    return panel, (float(place[0]), float(place[1]))


def _figure(text: str, what: str, spreader: TypedSpreader, conventions: Conventions) -> float:
    if not text.strip():
        raise Refused(spreader.name, f"{what} is not typed yet.", "Type it, or take the row out.")
    try:
        return read_length(text, conventions.notation)
    except ValueError as error:
        raise Refused(
            spreader.name, f"{what}, “{text}”, is no length ({error}).", "Type the figure again."
        ) from None
