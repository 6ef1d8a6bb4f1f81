"""The finder of slips on a hull given by formula: nothing suspect, and a planted slip named.

Wigley's parabolic hull, y = (B/2)(1 - (2x/L)^2)(1 - (z/T)^2), z from the waterline down (W. C. S.
Wigley, Transactions of the Institution of Naval Architects, 1926; year from memory). L 4.0 m,
B 0.4 m, T 0.25 m: half-breadths at four heights are four fair rows.
"""

import numpy as np
import pytest

from lofting.offsets import (
    Conventions,
    Role,
    TypedLine,
    TypedStation,
    TypedTable,
    read_table,
)
from lofting.slips import find_slips

HEIGHTS = (62.5, 125.0, 187.5, 250.0)


def wigley(x: float, height: float) -> float:
    """Half-breadth in mm at x aft of the bow and a height above base."""
    return 200.0 * (1 - ((x - 2000.0) / 2000.0) ** 2) * (1 - ((250.0 - height) / 250.0) ** 2)


def table() -> TypedTable:
    xs = np.linspace(0, 4000, 11)
    return TypedTable(
        tuple(TypedStation(str(i), f"{x:.0f}") for i, x in enumerate(xs)),
        tuple(
            TypedLine(
                f"waterline {height:g}",
                Role.OTHER,
                tuple(f"{wigley(x, height):.0f}" for x in xs),
                (f"{height:g}",) * len(xs),
            )
            for height in HEIGHTS
        ),
    )


def test_published_half_breadths() -> None:
    assert wigley(2000, 62.5) == pytest.approx(87.5)
    assert wigley(3000, 125.0) == pytest.approx(112.5)
    assert wigley(3600, 250.0) == pytest.approx(72.0)


def test_a_fair_table_is_left_alone() -> None:
    assert find_slips(read_table(table(), Conventions()), Conventions()).suspects == ()


def test_a_planted_slip_is_named_with_its_true_figure() -> None:
    typed = table()
    line = typed.lines[1]
    row = list(line.half_breadths)
    assert row[3] == "126"
    row[3] = "162"
    spoilt = TypedTable(
        typed.stations,
        (
            typed.lines[0],
            TypedLine(line.name, line.role, tuple(row), line.heights),
            *typed.lines[2:],
        ),
    )
    slips = find_slips(read_table(spoilt, Conventions()), Conventions())
    assert [(s.line, s.point) for s in slips.suspects] == [("waterline 125", "3")]
    assert slips.suspects[0].candidates[0].text == "126"
