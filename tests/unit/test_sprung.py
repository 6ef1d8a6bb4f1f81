"""Flat panels sprung together: a drawn hull comes back from her flat panels and frames, and what
does not fit is found and named. The drawn hull is the standard here: her planks were developed by
another way altogether (rulings), and free plywood differs from it only by its own stiffness."""

from dataclasses import replace

import numpy as np
import pytest

from app.pipeline import Pipeline, Stage
from app.project.document import SpreaderSheet
from app.project.samples import load_sample
from lofting.dryfit import panel_boat
from lofting.dryfit.sprung import (
    FlatPanel,
    Landing,
    Piece,
    Spreader,
    SpringPlan,
    Sprung,
    StickEnd,
    spring_together,
)
from lofting.dryfit.telling import sprung_findings
from lofting.fairing import FairingSettings, fair_lines
from lofting.findings import Refused
from lofting.framing.specs import PartsSettings
from lofting.lengths import Notation
from lofting.offsets import TypedPoint, TypedStation
from lofting.panelsheets import (
    LOWER,
    UPPER,
    DeclaredSeam,
    FrameShape,
    PanelLanding,
    PanelPlan,
    PanelSheet,
    make_panel_plan,
    panel_table,
)
from lofting.panelsheets.sheets import PanelEdge, panel_conventions
from lofting.planking import Planking

Array = np.ndarray


def at_x(curve: Array, flat: Array, x: float) -> tuple[Array, Array]:
    """The point of a curve (n, 3) at x, and the flat point (2,) that became it."""
    k = int(np.searchsorted(curve[:, 0], x))
    share = (x - curve[k - 1, 0]) / (curve[k, 0] - curve[k - 1, 0])
    return (
        curve[k - 1] + share * (curve[k] - curve[k - 1]),
        flat[k - 1] + share * (flat[k] - flat[k - 1]),
    )


def upper(plank, array: Array) -> Array:
    return array[plank.line_start : (plank.line_stop or len(array) - 1) + 1]


def plan_of(planking: Planking, frames: tuple[float, ...]) -> SpringPlan:
    """Flat panels, frames at x and the transom of a drawn hull with a V bottom, and a spreader."""
    panels, ups = [], []
    for number, plank in enumerate(planking.planks):
        flat = FlatPanel(
            plank.spec.name, plank.flat_lower, upper(plank, plank.flat_upper),
            plank.spec.thickness, keel=number == 0, stem=True,
        )  # fmt: skip
        panels.append(flat)
        ups.append(upper(plank, plank.inner_upper))
    pieces = []
    for x in frames:
        corners, landings = [], []
        for plank, panel, up in zip(planking.planks, panels, ups, strict=True):
            low, flat_low = at_x(plank.inner_lower, plank.flat_lower, x)
            high, flat_high = at_x(up, panel.upper, x)
            corners += [high[1:]] if corners else [low[1:], high[1:]]
            landings.append(Landing(panel.name, tuple(flat_low), tuple(flat_high)))
        pieces.append(
            Piece(f"frame {x:g}", np.array(corners) - [0.0, corners[0][1]], tuple(landings))
        )
    ends = np.array([planking.planks[0].inner_lower[-1], *(up[-1] for up in ups)])
    lean = np.arctan2(ends[-1, 0] - ends[0, 0], ends[-1, 2] - ends[0, 2])
    rise = (ends[:, 0] - ends[0, 0]) * np.sin(lean) + (ends[:, 2] - ends[0, 2]) * np.cos(lean)
    landings = [Landing(p.name, tuple(p.lower[-1]), tuple(p.upper[-1])) for p in panels]
    pieces.append(Piece("transom", np.column_stack([ends[:, 1], rise]), tuple(landings)))
    return SpringPlan(tuple(panels), tuple(pieces), sticks_at(planking, (0.15,)))


def sticks_at(planking: Planking, shares: tuple[float, ...]) -> tuple[Spreader, ...]:
    """Spreaders across at shares of the sheer's length, as long as the drawn hull is wide there
    inside."""
    plank = planking.planks[-1]
    sheer, flat = upper(plank, plank.inner_upper), upper(plank, plank.flat_upper)
    run = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(sheer, axis=0), axis=1))])
    sticks = []
    for share in shares:
        at = share * run[-1]
        place = tuple(float(np.interp(at, run, column)) for column in flat.T)
        end = StickEnd(plank.spec.name, place)
        inside = 2.0 * float(np.interp(at, run, sheer[:, 1]))
        sticks.append(Spreader(f"spreader {share:g}", end, end, inside))
    return tuple(sticks)


@pytest.fixture(scope="module")
def planking() -> Planking:
    planking = Pipeline().run(load_sample("lake_skiff"), Stage.PLANKING).planking
    assert planking is not None
    return planking


@pytest.fixture(scope="module")
def plan(planking: Planking) -> SpringPlan:
    return plan_of(planking, (1400.0, 2800.0))


@pytest.fixture(scope="module")
def skiff(plan: SpringPlan) -> Sprung:
    return spring_together(plan)


def off_by(sprung: Sprung, planking: Planking) -> dict[str, float]:
    """Largest distance of every line from the drawn one, mm, after the best rigid move."""
    got, drawn, names = [], [], []
    for number, plank in enumerate(planking.planks):
        panel = sprung.panels[number]
        rows = [(plank.spec.upper, panel.upper, upper(plank, plank.mid_upper))]
        if number == 0:
            rows.insert(0, (plank.spec.lower, panel.lower, plank.mid_lower))
        for name, made, wanted in rows:
            got.append(made)
            drawn.append(wanted)
            names.append(name)
    a, b = np.concatenate(got)[:, [0, 2]], np.concatenate(drawn)[:, [0, 2]]
    middle_a, middle_b = a.mean(axis=0), b.mean(axis=0)
    a, b = a - middle_a, b - middle_b
    angle = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    found = {}
    for name, made, wanted in zip(names, got, drawn, strict=True):
        profile = (made[:, [0, 2]] - middle_a) @ turn.T + middle_b - wanted[:, [0, 2]]
        found[name] = float(np.hypot(np.hypot(*profile.T), made[:, 1] - wanted[:, 1]).max())
    return found


def test_a_drawn_skiff_comes_back_from_her_panels(skiff: Sprung, planking: Planking) -> None:
    """Keel and chine within 4 mm; the free sheer at the bow, where nothing holds it, within 20."""
    keel, chine, sheer = off_by(skiff, planking).values()
    assert keel < 4.0
    assert chine < 4.0
    assert sheer < 20.0
    assert skiff.agreed
    assert all(panel.strain_rms < 4e-4 for panel in skiff.panels)
    assert all(seam.gap < 1.5 for seam in skiff.seams)
    assert all(piece.gap < 1.0 for piece in skiff.pieces)
    stations = [piece.x for piece in skiff.pieces[:2]]
    assert stations[1] - stations[0] == pytest.approx(1400.0, abs=2.0)
    assert [f.code for f in sprung_findings(skiff) if f.code != "width-not-held"] == []


def test_a_frame_too_wide_is_named_with_its_excess(plan: SpringPlan) -> None:
    frame = plan.pieces[0]
    corners = frame.corners.copy()
    corners[1:, 0] += 5.0
    wide = replace(plan, pieces=(replace(frame, corners=corners), *plan.pieces[1:]))
    sprung = spring_together(wide)
    worst = max(sprung.pieces, key=lambda piece: piece.gap)
    assert worst.name == frame.name
    assert worst.wider is not None
    assert 2.5 < worst.wider < 9.0
    told = [f for f in sprung_findings(sprung) if f.code == "frame-stands-off"]
    assert [f.where["part"] for f in told] == [frame.name]
    assert "wider each side" in told[0].message


def test_a_panel_too_long_between_frames_shows_as_strain_or_gap(plan: SpringPlan) -> None:
    """6 mm put into the side between the frames and the transom, landings moved with it."""
    side = plan.panels[1]

    def stretched(points: Array) -> Array:
        points = np.array(points, dtype=float)
        points[..., 0] += np.clip((points[..., 0] - 1900.0) / 600.0, 0.0, 1.0) * 6.0
        return points

    def moved(landing: Landing) -> Landing:
        if landing.panel != side.name:
            return landing
        return replace(
            landing,
            low=tuple(stretched(np.array(landing.low))),
            high=tuple(stretched(np.array(landing.high))),
        )

    long = replace(side, lower=stretched(side.lower), upper=stretched(side.upper))
    pieces = tuple(
        replace(p, landings=tuple(moved(x) for x in p.landings if x is not None))
        for p in plan.pieces
    )
    sprung = spring_together(replace(plan, panels=(plan.panels[0], long), pieces=pieces))
    codes = {f.code for f in sprung_findings(sprung)}
    assert codes & {"panel-strained", "frame-stands-off", "seam-opens"}


def typed(plan: SpringPlan) -> PanelPlan:
    """The flat panels and frames as a builder would type them from a plan: ordinates to a
    millimetre every 200 mm, closer at the bow, ends and corners as points."""
    conventions = panel_conventions(Notation.MILLIMETRES, 1.5)

    def whole(value: float) -> str:
        return str(round(float(value)))

    def edge(points: Array, xs: list[int]) -> PanelEdge:
        near = 15.0  # no ordinate beside an end
        figures = tuple(
            whole(np.interp(x, *points.T)) if points[0, 0] + near < x < points[-1, 0] - near else ""
            for x in xs
        )
        ends = [TypedPoint(whole(p[0]), "", whole(p[1])) for p in points[[0, -1]]]
        return PanelEdge(figures, *ends)

    sheets = []
    for panel in plan.panels:
        xs = [60, 130, 220, 330, *range(460, int(panel.upper[-1, 0]), 200)]
        landings = [
            (piece.name, landing)
            for piece in plan.pieces[:-1]
            for landing in piece.landings
            if landing is not None and landing.panel == panel.name
        ]
        sheets.append(
            PanelSheet(
                panel.name,
                tuple(TypedStation(str(x), str(x)) for x in xs),
                edge(panel.lower, xs),
                edge(panel.upper, xs),
                panel.thickness,
                "okoume",
                landings=tuple(
                    PanelLanding(name, whole(at.low[0]), whole(at.high[0])) for name, at in landings
                ),
            )
        )
    shapes = []
    for piece in plan.pieces:
        corners = [*piece.corners, [0.0, piece.corners[-1, 1]]]
        points = tuple(TypedPoint("", whole(y), whole(z)) for y, z in corners)
        shapes.append(FrameShape(piece.name, points, 9.0, "okoume"))
    lines = [fair_lines(panel_table(s, conventions), FairingSettings()) for s in sheets]
    below, above = plan.panels
    seam = DeclaredSeam("chine", below.name, UPPER, above.name, LOWER)
    return make_panel_plan(sheets, lines, shapes, [seam], conventions, PartsSettings())


def test_panels_typed_to_a_millimetre_make_the_same_boat(
    plan: SpringPlan, planking: Planking
) -> None:
    made = panel_boat(typed(plan))
    assert {f.code for f in made.findings} <= {"width-not-held"}
    assert all(panel.strain_rms < 4e-4 for panel in made.sprung.panels)
    assert made.sprung.largest_gap < 1.5
    drawn = planking.planks[0]
    for sprung_edge, edge in (
        (made.sprung.panels[0].lower, drawn.mid_lower),
        (made.sprung.panels[0].upper, upper(drawn, drawn.mid_upper)),
    ):
        breadths = [np.interp(np.linspace(0, 1, 25), run(c), c[:, 1]) for c in (sprung_edge, edge)]
        assert np.abs(breadths[0] - breadths[1]).max() < 5.0


def run(curve: Array) -> Array:
    """Share of its length at each point of a curve."""
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))])
    return along / along[-1]


def test_the_dory_of_flat_panels_floats() -> None:
    """She has frames 1300 mm apart along her bottom, floats with her crew, and her parts have
    places; the mesh she floats by weighs what she does."""
    boat = Pipeline().run(load_sample("shed_dory"), Stage.AFLOAT)
    made = boat.panel_boat
    assert made is not None
    frames = {piece.name: piece for piece in made.sprung.pieces}
    # along the bottom they stand 1300 mm apart, nearly level there
    apart = frames["frame 2"].x - frames["frame 1"].x
    assert 1295.0 < apart < 1300.5
    assert all(panel.strain_rms < 4e-4 for panel in made.sprung.panels)
    assert boat.weights is not None
    centres = {line.name: (line.x, line.z) for line in boat.weights.lines}
    assert centres["frame 1"][0] == pytest.approx(frames["frame 1"].x, abs=5.0)
    assert 1500.0 < centres["side"][0] < 2600.0
    assert boat.afloat is not None
    for case in boat.afloat.cases:
        assert case.attitude.volume * 1000.0 == pytest.approx(case.mass, rel=1e-3)


def test_panels_that_do_not_follow_each_other_are_told_and_nothing_stops() -> None:
    project = load_sample("shed_dory")
    project = project.model_copy(update={"plan": project.plan.model_copy(update={"seams": ()})})
    boat = Pipeline().run(project, Stage.AFLOAT)
    assert boat.panel_plan is not None
    assert boat.panel_boat is None
    told = [f for f in boat.findings if f.code == "not-sprung"]
    assert len(told) == 1
    assert told[0].severity.value == "note"
    with pytest.raises(Refused, match="from the keel"):
        panel_boat(boat.panel_plan)


def with_spreaders(*spreaders: SpreaderSheet):
    project = load_sample("shed_dory")
    plan = project.plan.model_copy(update={"spreaders": spreaders})
    return Pipeline().run(project.model_copy(update={"plan": plan}), Stage.AFLOAT)


def test_a_typed_spreader_holds_the_dory_at_its_breadth() -> None:
    """Typed along the plan's base line; the breadth is taken off the inside of the sides, and the
    width that nothing held is no longer told of there."""
    free = with_spreaders()
    boat = with_spreaders(SpreaderSheet(name="stick", panel="side", x="2100", length="1330"))
    made, was = boat.panel_boat, free.panel_boat
    assert made is not None
    assert was is not None
    (stick,) = made.sprung.spreaders
    side = made.sprung.panel("side")
    inner = [np.interp(stick.place[0], side.inner_upper[:, 0], c) for c in side.inner_upper.T]
    assert 2.0 * stick.place[1] == pytest.approx(1330.0, abs=1e-3)
    assert 2.0 * inner[1] == pytest.approx(1330.0, abs=0.3), "chords of the edge, 100 mm long"
    assert stick.push > 20.0
    assert not any(0.4 < soft.share < 0.55 for soft in made.sprung.soft)
    assert any(0.4 < soft.share < 0.55 for soft in was.sprung.soft)
    assert made.planking.planks[1].inner_upper[:, 1].max() > 660.0
    same = [
        np.array_equal(a.outline, b.outline)
        for a, b in zip(boat.parts.parts, free.parts.parts, strict=True)
    ]
    assert all(same), "a stick is no part of the boat"


def test_a_spreader_on_either_edge_of_the_bottom_is_one_place() -> None:
    """The bottom is worked out as one half: its lower edge is the other chine."""
    sticks = [
        with_spreaders(
            SpreaderSheet(name="stick", panel="bottom", edge=edge, x="1800", length="728")
        ).panel_boat.sprung.spreaders[0]
        for edge in ("lower edge", "upper edge")
    ]
    assert sticks[0].place == pytest.approx(sticks[1].place, abs=0.5)


def test_a_spreader_that_presses_is_told_with_care() -> None:
    boat = with_spreaders(SpreaderSheet(name="stick", panel="side", x="2100", length="1550"))
    (told,) = [f for f in boat.findings if f.code == "spreader-pressed"]
    assert told.where == {"spreader": "stick"}
    assert "fly out" in told.remedy
    boat = with_spreaders(SpreaderSheet(name="stick", panel="side", x="2100", length="1000"))
    (told,) = [f for f in boat.findings if f.code == "spreader-pressed"]
    assert "pulled" in told.message
    assert "screw or tie" in told.remedy


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"x": "2100", "length": ""}, "its length is not typed yet"),
        ({"x": "", "length": "1200"}, "the place of an end is not typed"),
        ({"x": "21oo", "length": "1200"}, "is no length"),
        ({"x": "2100", "length": "-3"}, "nothing or less"),
        ({"x": "9000", "length": "1200"}, "lies beyond the upper edge of side"),
        ({"panel": "keel", "x": "2100", "length": "1200"}, "no upper edge of a panel keel"),
        (
            {"x": "2100", "length": "9", "to_panel": "side", "to_x": "2100", "across": False},
            "both its ends are one point",
        ),
    ],
)
def test_half_typed_spreaders_are_left_out_and_nothing_stops(row, words) -> None:
    boat = with_spreaders(SpreaderSheet(**{"name": "stick", "panel": "side", **row}))
    (told,) = [f for f in boat.findings if f.code == "spreader-left-out"]
    assert words in told.message
    assert boat.panel_boat is not None
    assert boat.panel_boat.sprung.spreaders == ()


def breadth_off(sprung: Sprung, planking: Planking) -> float:
    """How far the sheer's half-breadths lie from the drawn ones aft of a tenth of her length: the
    drawn stem has a siding that a plan of flat panels does not give, so the head is left out."""
    made, drawn = sprung.panels[-1].upper, planking.planks[-1]
    shares = np.linspace(0.1, 1.0, 91)
    wanted = upper(drawn, drawn.mid_upper)
    got = [np.interp(shares, run(curve), curve[:, 1]) for curve in (made, wanted)]
    return float(np.abs(got[0] - got[1]).max())


def test_spreaders_bring_the_free_sheer_back(plan: SpringPlan, planking: Planking) -> None:
    """The drawn hull is the standard: breadths that nothing held come nearer by half, and no stick
    of the drawn breadth is pressed harder than a hand can."""
    free = breadth_off(spring_together(replace(plan, spreaders=())), planking)
    sprung = spring_together(replace(plan, spreaders=sticks_at(planking, (0.1, 0.2, 0.6, 0.85))))
    assert breadth_off(sprung, planking) < 0.5 * free
    assert max(abs(stick.push) for stick in sprung.spreaders) < 200.0


def box_with_flare() -> PanelPlan:
    """Rectangles that make a box 2000 long: a bottom 600 wide, sides 200 high and nearly plumb, and
    strakes of 180 that flare out above them, held by an end piece at bow and stern and between."""
    conventions = panel_conventions(Notation.MILLIMETRES, 1.5)
    xs = range(250, 2000, 250)
    low, high = np.radians(80.0), np.radians(45.0)

    def level(z: int) -> PanelEdge:
        ends = [TypedPoint(str(x), "", str(z)) for x in (0, 2000)]
        return PanelEdge(tuple(str(z) for _ in xs), *ends)

    def sheet(name: str, below: int, above: int, handed: bool) -> PanelSheet:
        places = tuple(TypedStation(str(x), str(x)) for x in xs)
        at = PanelLanding("middle", "1000", "1000")
        return PanelSheet(
            name, places, level(below), level(above), 6.0, "okoume", handed, landings=(at,)
        )

    corner = np.array([[0.0, 0.0], [300.0, 0.0]])
    for turn, long in ((low, 200.0), (high, 180.0)):
        corner = np.vstack([corner, corner[-1] + long * np.array([np.cos(turn), np.sin(turn)])])
    points = tuple(TypedPoint("", f"{y:.1f}", f"{z:.1f}") for y, z in corner)
    closed = (*points, TypedPoint("", "0", points[-1].height))
    shapes = [
        FrameShape(name, closed, 9.0, "okoume") for name in ("fore end", "middle", "after end")
    ]
    sheets = [
        sheet("bottom", -300, 300, False),
        sheet("side", 0, 200, True),
        sheet("flare", 0, 180, True),
    ]
    lines = [fair_lines(panel_table(s, conventions), FairingSettings()) for s in sheets]
    seams = [
        DeclaredSeam("chine", "bottom", UPPER, "side", LOWER),
        DeclaredSeam("knuckle", "side", UPPER, "flare", LOWER),
    ]
    return make_panel_plan(sheets, lines, shapes, seams, conventions, PartsSettings())


def test_a_hollow_seam_of_flat_panels_is_told() -> None:
    """35 degrees hollow at the knuckle, 6 mm plywood: 6 times the tangent of 17.5 degrees."""
    made = panel_boat(box_with_flare())
    (told,) = [f for f in made.findings if f.code == "outsides-overlap"]
    assert told.where == {"line": "knuckle"}
    assert told.extra["turn_deg"] == pytest.approx(35.0, abs=1.0)
    assert told.extra["overlap_mm"] == pytest.approx(6.0 * np.tan(np.radians(17.5)), abs=0.08)
    assert "until the insides close" in told.remedy


def test_a_scow_with_ends_alike_is_closed_at_both() -> None:
    """Two end pieces that fit either end as well: one goes to each."""
    made = panel_boat(box_with_flare())
    assert [piece.x for piece in made.sprung.pieces] == pytest.approx(
        [0.0, 1000.0, 2000.0], abs=0.1
    )
    assert made.sprung.largest_gap < 0.1
    assert max(panel.strain_max for panel in made.sprung.panels) < 1e-4
