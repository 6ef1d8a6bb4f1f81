"""The boat behind a plan of flat panels: its panels, frames and transoms sprung together.

What comes out is a boat like any other, with lines and planking on the inside of the plywood, so
that she can be looked at, weighed in her places and floated. The parts themselves stay as the plan
gives them.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from lofting.battens import End, spring
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
from lofting.fairing import FairLine, Lines
from lofting.findings import Finding, Refused, Severity
from lofting.offsets import Face, Role
from lofting.panelsheets import LOWER, UPPER, LaidSpreader, PanelPlan, panel_line
from lofting.parts import FlatPart, Group, MarkKind
from lofting.planking import Planking, PlankingSettings, PlankSpec, plank_hull
from lofting.planking.hollows import hollow_findings
from lofting.progress import SILENT, Progress

Array = NDArray[np.float64]

LINE_POINTS = 25
"""Points that carry a long line of the boat to its batten."""

EVEN = 3.0
"""By how much, mm, a panel across the boat may differ on its two sides and count as even."""

END_FITS = 25.0
"""Mean difference, mm, between a transom's edges and the panels' ends it is taken to close."""

POINTED = 5.0
"""Length of a panel's end, mm, up to which the panel ends in a point."""

NAME_OF_KEEL, NAME_OF_SHEER, NAME_OF_STEM = "keel", "sheer", "stem"


@dataclass(frozen=True, eq=False)
class PanelBoat:
    """A boat of flat panels.

    Attributes:
        sprung: the panels and pieces in their places. lines, planking: the same as a boat's lines
            and planks, drawn to the inside. plan: the plan with its parts in their places.
    """

    sprung: Sprung
    lines: Lines
    planking: Planking
    plan: PanelPlan
    findings: tuple[Finding, ...]


def panel_boat(plan: PanelPlan, progress: Progress = SILENT) -> PanelBoat:
    """Spring the panels of a plan together and take the boat's lines from them.

    Raises:
        Refused: the panels do not follow each other from the keel up along declared seams, or a
            panel across the boat is not even.
        Cancelled: by the progress.
    """
    springing, noticed = spring_plan(plan)
    sprung = spring_together(springing, progress=progress)
    lines = _boat_lines(plan, springing, sprung)
    planking = plank_hull(lines, _planks(plan, springing, lines))
    return PanelBoat(
        sprung,
        lines,
        planking,
        _in_place(plan, sprung),
        (*noticed, *sprung_findings(sprung, plan), *_hollow(planking)),
    )


def _hollow(planking: Planking) -> tuple[Finding, ...]:
    """Seams whose square edges run into each other outside; their joint is the plan's own."""
    care = "Plane both edges under there until the insides close."
    return tuple(replace(finding, remedy=care) for finding in hollow_findings(planking))


def spring_plan(plan: PanelPlan) -> tuple[SpringPlan, tuple[Finding, ...]]:
    """Panels from the keel up and the frames and transoms that hold them, from a plan's parts.

    Frames are taken to touch the inner faces and panels to meet at their inner corners, as boats
    that are stitched together do.
    """
    panels = _from_keel(plan)
    frames = [part for part in plan.parts.parts if part.group is Group.FRAME]
    flats = [_flat(part, k, len(panels)) for k, part in enumerate(panels)]
    pieces, loose = [], []
    shapes = {frame.name: _corners(frame) for frame in frames}
    landed = {
        frame.name: tuple(
            _landing(frame.name, part, flat) for part, flat in zip(panels, flats, strict=True)
        )
        for frame in frames
    }
    bare = {name: shapes[name] for name, landings in landed.items() if not any(landings)}
    landed |= _end_landings(bare, flats)
    for frame in frames:
        corners, landings = shapes[frame.name], landed[frame.name]
        count = min(len(corners) - 1, len(panels))
        if count < 1 or not any(landings[:count]):
            loose.append(frame.name)
            continue
        pieces.append(Piece(frame.name, corners[: count + 1], landings[:count]))
    at_bow = any(_closes(piece, flats, fore=True) for piece in pieces)
    at_stern = any(_closes(piece, flats, fore=False) for piece in pieces)
    flats = [
        replace(
            flat, stem=not at_bow and not flat.halved, stern_post=not at_stern and not flat.halved
        )
        for flat in flats
    ]
    noticed = tuple(
        Finding(
            Severity.NOTE,
            "piece-not-tried",
            {"part": name},
            f"{name} has no landing lines on the panels and fits neither end, so it does not take "
            "part in springing the panels together.",
            "Give its landing lines on the panels, where the plan shows them.",
        )
        for name in loose
    )
    sticks = tuple(_stick(stick, flats) for stick in plan.spreaders)
    return SpringPlan(tuple(flats), tuple(pieces), sticks), noticed


def _stick(stick: LaidSpreader, flats: list[FlatPanel]) -> Spreader:
    """A stick whose ends are on the starboard half of a panel that runs across the boat."""
    ends = []
    for panel, (x, y) in (stick.a, stick.b):
        flat = next(flat for flat in flats if flat.name == panel)
        centre = float(flat.lower[0, 1])
        ends.append(StickEnd(panel, (x, centre + abs(y - centre) if flat.halved else y)))
    return Spreader(stick.name, ends[0], ends[1], stick.length, stick.across)


def _from_keel(plan: PanelPlan) -> list[FlatPart]:
    """The panels in order from the keel to the sheer, by the seams declared."""
    panels = {p.name: p for p in plan.parts.parts if p.group is Group.PLANK}
    above: dict[str, str] = {}
    for seam in plan.seams:
        for one, other in ((seam.a, seam.b), (seam.b, seam.a)):
            for below, part in panels.items():
                sewn = (UPPER,) if part.handed else (UPPER, LOWER)
                if one in [panel_line(below, edge) for edge in sewn]:
                    over = next((n for n in panels if other == panel_line(n, LOWER)), None)
                    if over is not None and over != below:
                        above[below] = over
    starts = [name for name in panels if name not in above.values()]
    order = []
    name: str | None = starts[0] if len(starts) == 1 else None
    while name is not None and name not in order:
        order.append(name)
        name = above.get(name)
    if not panels or len(order) != len(panels):
        raise Refused(
            "seams",
            "The panels cannot be sprung into a boat: they do not follow each other from the keel "
            "up, each one's upper edge sewn to the next one's lower edge.",
            "Declare the seams of the panels, from the bottom to the topmost strake.",
        )
    return [panels[name] for name in order]


def _flat(part: FlatPart, place: int, count: int) -> FlatPanel:
    edges = dict(part.runs())
    lower, upper = edges[LOWER], edges[UPPER][::-1]
    if place == 0 and not part.handed:
        middle = (lower[:, 1] + np.interp(lower[:, 0], upper[:, 0], upper[:, 1])) / 2.0
        if float(np.ptp(middle)) > EVEN:
            raise Refused(
                part.name,
                f"It runs across the boat but is not the same on both sides of its centreline (up "
                f"to {float(np.ptp(middle)):.0f} mm).",
                "Correct its ordinates, or give one half of it as a pair.",
            )
        centre = float(np.mean(middle))
        lower = np.column_stack([upper[:, 0], np.full(len(upper), centre)])
        return FlatPanel(part.name, lower, upper, part.thickness, halved=True)
    if not part.handed:
        raise Refused(
            part.name,
            "Only the lowest panel can run across the boat.",
            "Give it as a pair, port and starboard.",
        )
    return FlatPanel(part.name, lower, upper, part.thickness, keel=place == 0)


def _corners(frame: FlatPart) -> Array:
    """Half-breadth and height (k, 2) of a frame's starboard corners from the keel up, the last
    being its topmost outer one."""
    marks = [mark for mark in frame.marks if mark.kind is MarkKind.CENTRE]
    (low_x, low_y), (high_x, _) = frame.outline.min(axis=0), frame.outline.max(axis=0)
    centre = float(marks[0].points[0, 0]) if marks else float(low_x + high_x) / 2.0
    half = Polygon(frame.outline).intersection(shapely.box(centre, -1e6, centre + 1e6, 1e6))
    if half.geom_type != "Polygon":
        return np.empty((0, 2))
    ring = np.asarray(shapely.orient_polygons(half).exterior.coords)[:-1]
    ring = ring - [centre, float(low_y)]
    on_centre = np.flatnonzero(ring[:, 0] < 1e-6)
    if len(on_centre) == 0:
        return np.empty((0, 2))
    first = int(on_centre[np.argmin(ring[on_centre, 1])])
    ring = np.roll(ring, -first, axis=0)
    beyond = np.flatnonzero(ring[1:, 0] < 1e-6)
    stop = int(beyond[0]) + 1 if len(beyond) else len(ring)
    return ring[:stop]


def _landing(frame: str, part: FlatPart, flat: FlatPanel) -> Landing | None:
    for mark in part.marks:
        if mark.kind is MarkKind.LANDING and mark.label == frame:
            ends = mark.points[np.argsort(mark.points[:, 1])]
            low = ends[0]
            if flat.halved:
                low = np.array([ends[:, 0].mean(), flat.lower[0, 1]])
            return Landing(part.name, (float(low[0]), float(low[1])), _pair(ends[-1]))
    return None


def _pair(point: Array) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _end_landings(
    shapes: dict[str, Array], flats: list[FlatPanel]
) -> dict[str, tuple[Landing | None, ...]]:
    """Landings on the panels' fore or after ends of the pieces whose edges fit there in length, by
    their names: the best fit first, and one piece an end."""
    fits = []
    for name, corners in shapes.items():
        if len(corners) <= len(flats):
            continue
        own = np.linalg.norm(np.diff(corners[: len(flats) + 1], axis=0), axis=1)
        for at in (0, -1):
            ends = [(flat.lower[at], flat.upper[at]) for flat in flats]
            pairs = zip(ends, own, strict=True)
            off = float(np.mean([abs(np.linalg.norm(b - a) - long) for (a, b), long in pairs]))
            if off < END_FITS:
                fits.append((off, name, at))
    found: dict[str, tuple[Landing | None, ...]] = {}
    taken: set[int] = set()
    for _, name, at in sorted(fits, key=lambda fit: fit[0]):
        if name not in found and at not in taken:
            taken.add(at)
            found[name] = tuple(
                Landing(flat.name, _pair(flat.lower[at]), _pair(flat.upper[at])) for flat in flats
            )
    return found


def _closes(piece: Piece, flats: list[FlatPanel], *, fore: bool) -> bool:
    """Whether a piece stands at the panels' fore (or after) ends."""
    last, flat = piece.landings[-1], flats[len(piece.landings) - 1]
    at = flat.upper[0 if fore else -1]
    return last is not None and float(np.hypot(*(np.array(last.high) - at))) < END_FITS


def _boat_lines(plan: PanelPlan, springing: SpringPlan, sprung: Sprung) -> Lines:
    """Keel, seams and sheer on the inside of the plywood, and the stem, starboard."""
    panels = sprung.panels
    keel = _evenly(panels[0].inner_lower) * [1.0, 0.0, 1.0]
    runs = [keel]
    runs += [
        (_evenly(below.inner_upper) + _evenly(above.inner_lower)) / 2.0
        for below, above in pairwise(panels)
    ]
    runs.append(_evenly(panels[-1].inner_upper))
    for at, closed in ((0, _stems(springing, fore=True)), (-1, _stems(springing, fore=False))):
        if closed:
            for run in runs:
                run[at, 1] = 0.0
        first = springing.panels[0]
        if float(np.linalg.norm(first.upper[at] - first.lower[at])) < POINTED:
            runs[0][at] = runs[1][at] = (runs[0][at] + runs[1][at]) / 2.0
    names = [NAME_OF_KEEL, *_seam_names(plan, springing), NAME_OF_SHEER]
    roles = [Role.KEEL, *[Role.CHINE] * (len(runs) - 2), Role.SHEER]
    made = [_line(n, r, run) for n, r, run in zip(names, roles, runs, strict=True)]
    if _stems(springing, fore=True):
        ends = [panel.grid[0] for panel in panels if np.ptp(panel.grid[0], axis=0).max() > POINTED]
        if ends:
            curve = np.concatenate(ends)[1:-1] * [1.0, 0.0, 1.0]
            foot = runs[0][:1] if np.ptp(panels[0].grid[0], axis=0).max() > POINTED else runs[1][:1]
            curve = np.concatenate([foot, curve, runs[-1][:1]])
            keep = np.concatenate([[True], np.linalg.norm(np.diff(curve, axis=0), axis=1) > 1.0])
            made.append(_line(NAME_OF_STEM, Role.STEM, _evenly(curve[keep], 9)))
    return Lines(tuple(made), _stations(springing, sprung), Face.INSIDE)


def _stations(springing: SpringPlan, sprung: Sprung) -> tuple[tuple[str, float], ...]:
    """The frames between the ends, where sections are drawn."""
    ends = [
        p.name
        for p in springing.pieces
        if any(_closes(p, list(springing.panels), fore=fore) for fore in (True, False))
    ]
    return tuple(
        (piece.name, piece.x)
        for piece in sorted(sprung.pieces, key=lambda piece: piece.x)
        if piece.name not in ends
    )


def _stems(springing: SpringPlan, *, fore: bool) -> bool:
    return any(panel.stem if fore else panel.stern_post for panel in springing.panels)


def _seam_names(plan: PanelPlan, springing: SpringPlan) -> list[str]:
    names = []
    for below, above in pairwise(springing.panels):
        edge = panel_line(above.name, LOWER)
        name = next((s.name for s in plan.seams if edge in (s.a, s.b)), "")
        names.append(name if name and name not in names else f"{below.name} to {above.name}")
    return names


def _evenly(curve: Array, count: int = LINE_POINTS) -> Array:
    """Points (count, 3) evenly along a curve by its length."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))])
    wanted = np.linspace(0.0, run[-1], count)
    return np.column_stack([np.interp(wanted, run, c) for c in curve.T])


def _line(name: str, role: Role, points: Array) -> FairLine:
    batten = spring(points, ends=(End.RUN_PAST, End.RUN_PAST))
    labels = ("bow", *(str(k) for k in range(1, len(points) - 1)), "stern")
    loads = np.zeros((len(points), 2))
    none = np.zeros(points.shape)
    return FairLine(name, role, labels, points, points, batten, batten, none, 0, 0, loads, loads)


def _planks(plan: PanelPlan, springing: SpringPlan, lines: Lines) -> PlankingSettings:
    parts = {part.name: part for part in plan.parts.parts}
    names = [line.name for line in lines.lines if line.role is not Role.STEM]
    return PlankingSettings(
        tuple(
            PlankSpec(
                panel.name,
                names[k],
                names[k + 1],
                panel.thickness,
                parts[panel.name].material,
                panel.halved,
            )
            for k, panel in enumerate(springing.panels)
        )
    )


def _in_place(plan: PanelPlan, sprung: Sprung) -> PanelPlan:
    """The plan with centres of gravity for panels and pieces, and its edges in the boat."""
    centres = {p.name: (float(p.centre[0]), 0.0, float(p.centre[2])) for p in sprung.panels}
    poses = {piece.name: piece for piece in sprung.pieces}
    parts = []
    for part in plan.parts.parts:
        if part.name in centres:
            parts.append(replace(part, centre=centres[part.name]))
        elif part.name in poses and part.group is Group.FRAME:
            pose = poses[part.name]
            up = float(Polygon(part.outline).centroid.y - part.outline[:, 1].min())
            x, z = pose.x + up * np.sin(pose.lean), pose.z + up * np.cos(pose.lean)
            parts.append(replace(part, centre=(float(x), 0.0, float(z)), note=""))
        else:
            parts.append(part)
    places = []
    for panel in sprung.panels:
        places.append((panel_line(panel.name, LOWER), panel.lower))
        places.append((panel_line(panel.name, UPPER), panel.upper))
    return replace(plan, parts=replace(plan.parts, parts=tuple(parts)), places=tuple(places))
