"""Plans of flat panels: read as tables, made into parts, mating edges compared bay by bay."""

import math

import numpy as np
import pytest

from lofting.fairing import FairingSettings, fair_lines
from lofting.findings import Refused
from lofting.framing import PartsSettings
from lofting.lengths import Notation
from lofting.offsets import TypedPoint, TypedStation
from lofting.panelsheets import (
    LOWER,
    UPPER,
    DeclaredSeam,
    FrameShape,
    PanelLanding,
    PanelSheet,
    make_panel_plan,
    panel_table,
    seam_findings,
)
from lofting.panelsheets.sheets import PanelEdge, panel_conventions
from lofting.slips import find_slips

MM = panel_conventions(Notation.MILLIMETRES, 1.5)
LENGTH, RADIUS, DEPTH = 3000.0, 4000.0, 500.0
PLACES = tuple(TypedStation(str(x), str(x)) for x in range(200, 3000, 200))


def arc(x: float) -> float:
    """Height over its chord of a circular arc of RADIUS across LENGTH."""
    drop = math.sqrt(RADIUS**2 - (LENGTH / 2) ** 2)
    return math.sqrt(RADIUS**2 - (x - LENGTH / 2) ** 2) - drop


def edge(base: float, sign: float, *, slip: dict[int, float] | None = None) -> PanelEdge:
    ordinates = [
        f"{base + sign * arc(float(p.x)) + (slip or {}).get(i, 0.0):.1f}"
        for i, p in enumerate(PLACES)
    ]
    return PanelEdge(
        tuple(ordinates),
        TypedPoint("0", "", f"{base:g}"),
        TypedPoint(f"{LENGTH:g}", "", f"{base:g}"),
    )


def sheet(name: str, lower: PanelEdge, upper: PanelEdge, at: float = 1500.0) -> PanelSheet:
    return PanelSheet(
        name, PLACES, lower, upper, 6.0, "okoume", True, (PanelLanding("frame", f"{at}", f"{at}"),)
    )


def plan(*sheets, seams=(), shapes=()):
    lines = [fair_lines(panel_table(s, MM), FairingSettings()) for s in sheets]
    return make_panel_plan(sheets, lines, shapes, seams, MM, PartsSettings())


def test_a_panel_between_two_arcs_has_the_area_and_edges_of_the_closed_form():
    # circular segment: area R^2 (a - sin a) / 2, arc R a with a = 2 asin(L / 2R); elementary
    made = plan(sheet("panel", edge(0.0, -1.0), edge(DEPTH, 1.0)))
    part = made.parts.part("panel")
    a = 2 * math.asin(LENGTH / 2 / RADIUS)
    segment = RADIUS**2 * (a - math.sin(a)) / 2
    assert part.area() == pytest.approx(LENGTH * DEPTH + 2 * segment, rel=1e-4)
    runs = dict(part.runs())
    for name in (LOWER, UPPER):
        steps = np.linalg.norm(np.diff(runs[name], axis=0), axis=1).sum()
        assert steps == pytest.approx(RADIUS * a, abs=0.2)


def test_mating_edges_are_compared_bay_by_bay():
    seam = DeclaredSeam("chine", "a", UPPER, "b", LOWER)
    good = plan(
        sheet("a", edge(0.0, -1.0), edge(DEPTH, 1.0)),
        sheet("b", edge(0.0, -1.0), edge(DEPTH, 1.0)),
        seams=(seam,),
    )
    assert abs(good.seams[0].difference) < 0.05
    assert seam_findings(good.seams) == ()

    # the mark of a frame set 25 mm too far aft on one panel: bays differ by -25 and +25
    moved = plan(
        sheet("a", edge(0.0, -1.0), edge(DEPTH, 1.0)),
        sheet("b", edge(0.0, -1.0), edge(DEPTH, 1.0), at=1525.0),
        seams=(seam,),
    )
    assert moved.seams[0].gap_run[1] == pytest.approx(25.0, abs=0.05)
    assert abs(moved.seams[0].difference) < 0.05
    (finding,) = seam_findings(moved.seams)
    assert finding.code == "seam-mismatch"
    assert finding.severity.value == "stop"


def test_the_finder_of_slips_reads_panel_sheets_too():
    typed = sheet("panel", edge(0.0, -1.0), edge(DEPTH, 1.0, slip={6: 30.0}))
    slips = find_slips(panel_table(typed, MM), MM)
    first = slips.suspects[0]
    assert (first.line, first.point, first.coordinate) == ("panel, upper edge", "1400", "height")
    assert first.expected == pytest.approx(DEPTH + arc(1400.0), abs=2.0)


def test_a_half_shape_is_mirrored():
    corners = [("0", "100"), ("300", "100"), ("450", "500"), ("0", "500")]
    shape = FrameShape("frame", tuple(TypedPoint("", b, h) for b, h in corners), 9.0, "okoume")
    made = plan(sheet("panel", edge(0.0, -1.0), edge(DEPTH, 1.0)), shapes=(shape,))
    part = made.parts.part("frame")
    assert part.area() == pytest.approx(400.0 * (600.0 + 900.0) / 2)
    assert part.size() == pytest.approx((900.0, 400.0))


def test_crossed_edges_and_unknown_seams_are_refused_by_name():
    with pytest.raises(Refused, match="upper edge"):
        plan(sheet("panel", edge(DEPTH, 1.0), edge(0.0, -1.0)))
    with pytest.raises(Refused, match="garboard"):
        plan(
            sheet("panel", edge(0.0, -1.0), edge(DEPTH, 1.0)),
            seams=(DeclaredSeam("chine", "panel", UPPER, "garboard", LOWER),),
        )
