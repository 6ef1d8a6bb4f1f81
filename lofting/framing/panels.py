"""Plank panels as flat parts: outline, edges named, stations and landing lines, keep-clear."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from lofting import tolerances
from lofting.findings import Finding, Severity
from lofting.framing.cutting_planes import (
    PartPlane,
    athwart,
    cut_strip,
    inner_strip,
    level,
    mid_strip,
    on_other_sheet,
    strip_triangles,
)
from lofting.framing.outlines import Outline, from_runs, mended, open_ring
from lofting.framing.specs import MarkSettings
from lofting.parts import FlatPart, Group, KeepClear, Mark, MarkKind, part_polygon
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Landing:
    """A part that stands on the planks: its planes (drawn face, far face) and what to call them.

    within: half spaces (point (3,), normal (3,)) that the landing line stays in, on the side the
    normal points to.
    """

    name: str
    planes: tuple[PartPlane, ...]
    labels: tuple[str, ...]
    within: tuple[tuple[Array, Array], ...] = ()


@dataclass(frozen=True, eq=False)
class Laid:
    """How a plank's developed panel lies on its part: part = turn @ flat + shift; `centre` is
    the y of the centreline on a whole one."""

    turn: Array
    shift: Array
    whole: bool
    centre: float = 0.0

    def points(self, flat: Array, *, second: bool = False) -> Array:
        """Flat points (n, 2) on the part; `second`: on the port half of a whole panel."""
        points = flat @ self.turn.T + self.shift
        if second:
            points[:, 1] = 2.0 * self.centre - points[:, 1]
        return points

    def moved(self, by: Array) -> "Laid":
        """The same, the part's origin moved by (2,)."""
        return Laid(self.turn, self.shift + by, self.whole, self.centre + float(by[1]))


@dataclass(frozen=True, eq=False)
class Panel:
    """A plank's flat part and how the plank's own flat lies on it."""

    plank: Plank
    part: FlatPart
    laid: Laid
    findings: tuple[Finding, ...]


def make_panel(
    planking: Planking,
    plank: Plank,
    settings: MarkSettings,
    landings: Sequence[Landing] = (),
) -> Panel:
    """The panel of a plank with all its marks but the stitch holes."""
    findings: list[Finding] = []
    name = plank.spec.name
    outline, laid = placed(planking, plank, findings)
    ring, corners = outline.ring, outline.corners
    polygon = Polygon(ring)
    edges, corner_names = outline.edges, outline.corner_names
    if not polygon.is_valid or polygon.area < 1.0:
        findings.append(
            Finding(
                Severity.STOP,
                "part-not-simple",
                {"part": name},
                f"The flat panel of {name} crosses itself, so it cannot be cut.",
                "Look at the twist of the plank and at its ends; one of its lines is likely wrong.",
            )
        )
        mend = mended(polygon)
        if mend.area >= 1.0:
            ring, corners, edges, corner_names = open_ring(mend), (), (), ()
            laid = laid.moved(-ring.min(axis=0))
            ring = ring - ring.min(axis=0)
    marks, clear = panel_marks(planking, plank, laid, Polygon(ring), settings, landings)
    length = float(ring[:, 0].max())
    part = FlatPart(
        name,
        Group.PLANK,
        plank.spec.thickness,
        plank.spec.material,
        ring,
        corners,
        quantity=1 if laid.whole else 2,
        handed=not laid.whole,
        marks=marks,
        keep_clear=merged(
            [
                *clear,
                *hard_bends(plank, laid),
                KeepClear(0.0, settings.keep_from_end, "near the end"),
                KeepClear(length - settings.keep_from_end, length, "near the end"),
            ],
            length,
        ),
        neighbours=neighbours(planking, plank),
        edges=edges,
        centre=panel_centre(plank),
        station_x=station_map(plank, laid),
        corner_names=corner_names,
        face_up="inner face",
    )
    return Panel(plank, part, laid, tuple(findings))


def placed(planking: Planking, plank: Plank, findings: list[Finding]) -> tuple[Outline, Laid]:
    """The panel's outline with its lowest corner at (0, 0), and how the plank's flat lies on it."""
    whole, laid = lay_down(plank, findings)
    runs = panel_runs(planking, plank)
    if whole:
        # both halves grow from the straight keel edge, which is no edge of the whole panel
        after = [corner for corner, _, _ in runs[1:]] + [runs[0][0]]
        halves = [
            (start, end, edge, points)
            for (start, edge, points), end in zip(runs, after, strict=True)
            if edge != "lower edge"
        ]
        pieces = [
            (end, f"{edge}, port", laid.points(points, second=True)[::-1])
            for _, end, edge, points in reversed(halves)
        ] + [(start, f"{edge}, starboard", laid.points(p)) for start, _, edge, p in halves]
    else:
        pieces = [(corner, edge, laid.points(p)) for corner, edge, p in runs]
    outline = from_runs(pieces)
    low = outline.ring.min(axis=0)
    return replace(outline, ring=outline.ring - low), laid.moved(-low)


def lay_down(plank: Plank, findings: list[Finding]) -> tuple[bool, Laid]:
    """Whether the panel is cut whole, and how its flat lies: a whole one with its keel along x."""
    flat = plank.flat_lower
    if plank.spec.whole:
        chord = flat[-1] - flat[0]
        unit = chord / np.linalg.norm(chord)
        turn = np.array([[unit[0], unit[1]], [-unit[1], unit[0]]])
        off = float(np.abs((flat - flat[0]) @ turn[1]).max())
        aside = float(np.abs(plank.lower[:, 1]).max())
        if max(off, aside) <= tolerances.STRAIGHT:
            return True, Laid(turn, -turn @ flat[0], True)
        findings.append(
            Finding(
                Severity.STOP,
                "whole-not-straight",
                {"plank": plank.spec.name},
                f"{plank.spec.name} cannot be one piece across the centreline: laid flat, its "
                f"edge there runs {max(off, aside):.0f} mm off straight.",
                "Make it a pair joined on the centreline, or check that the bottom is flat across.",
            )
        )
    return False, Laid(np.eye(2), np.zeros(2), False)


def panel_runs(planking: Planking, plank: Plank) -> list[tuple[str, str, Array]]:
    """The starboard panel's edges anticlockwise on the flat, from the lower edge's fore end:
    (name of the corner it starts at, name of the edge, flat points)."""
    spec = plank.spec
    stem_end, stern_start = upper_span(plank)
    fore, aft = end_names(planking)
    runs: list[tuple[str, str, Array]] = []
    for a, b in spans(plank.lower_corner, len(plank.lower)):
        corner = f"{spec.lower}, fore end" if a == 0 else f"{spec.lower} knuckle"
        runs.append((corner, "lower edge", plank.flat_lower[a : b + 1]))
    runs.append(
        (f"{spec.lower}, after end", aft, np.array([plank.flat_lower[-1], plank.flat_upper[-1]]))
    )
    for a, b in reversed(spans(plank.upper_corner, len(plank.upper))):
        points = plank.flat_upper[a : b + 1][::-1]
        if a >= stern_start and stern_start < len(plank.upper) - 1:
            corner, edge = f"{spec.lower}, after end", aft
        elif b <= stem_end:
            corner, edge = f"{spec.upper}, fore end", fore
        else:
            after = b == stern_start
            corner = f"{spec.upper}, after end" if after else f"{spec.upper} knuckle"
            edge = "upper edge"
        runs.append((corner, edge, points))
    runs.append(
        (f"{spec.upper}, fore end", fore, np.array([plank.flat_upper[0], plank.flat_lower[0]]))
    )
    return runs


def upper_span(plank: Plank) -> tuple[int, int]:
    """Indices into the upper chain where its long line begins and ends: what lies before is the
    stem, what lies after a curved stern."""
    if plank.line_stop > plank.line_start + 1:
        return plank.line_start, plank.line_stop - 1
    return 0, len(plank.upper) - 1


def end_names(planking: Planking) -> tuple[str, str]:
    """What the plank's fore and after ends are: a stem (close to the centreline) or a transom."""
    ends = [max(float(p.upper[upper_span(p)[i], 1]) for p in planking.planks) for i in (0, 1)]
    return (
        "stem end" if ends[0] <= tolerances.STEM_SIDING else "bow transom end",
        "stern end" if ends[1] <= tolerances.STEM_SIDING else "transom end",
    )


def spans(corners: Sequence[int], count: int) -> list[tuple[int, int]]:
    """Stretches between corners of a chain of `count` points."""
    chosen = sorted({0, count - 1, *(int(c) for c in corners if 0 <= c < count)})
    return list(pairwise(chosen))


def panel_marks(
    planking: Planking,
    plank: Plank,
    laid: Laid,
    polygon: Polygon,
    settings: MarkSettings,
    landings: Sequence[Landing],
) -> tuple[tuple[Mark, ...], list[KeepClear]]:
    """Stations, waterlines, rulings and landing lines on a panel, and where landings keep joints
    away."""
    marks: list[Mark] = []
    for label, x in planking.lines.stations:
        for line in on_panel(plank, laid, polygon, athwart(x), inside=False):
            marks.append(Mark(MarkKind.STATION, line, f"station {label}"))
    for z in settings.waterlines:
        for line in on_panel(plank, laid, polygon, level(z), inside=False):
            marks.append(Mark(MarkKind.WATERLINE, line, f"waterline {z:g}"))
    clear: list[KeepClear] = []
    for landing in landings:
        found, kept = landing_marks(plank, laid, polygon, landing, settings.keep_from_landing)
        marks.extend(found)
        clear.extend(kept)
    if settings.rulings:
        marks.extend(ruling_marks(plank, laid, polygon))
    if laid.whole:
        marks.extend(
            Mark(MarkKind.CENTRE, line, "centreline")
            for line in clipped(laid.points(plank.flat_lower[[0, -1]]), polygon)
        )
    anchor = polygon.representative_point()
    out = "inside of the boat up" if laid.whole else "starboard: inside up; port: outside up"
    marks.append(Mark(MarkKind.NOTE, np.array([[anchor.x, anchor.y]]), out))
    return tuple(marks), clear


def landing_marks(
    plank: Plank, laid: Laid, polygon: Polygon, landing: Landing, keep: float
) -> tuple[list[Mark], list[KeepClear]]:
    """The landing lines of one part on a panel, and the stretch they keep joints from."""
    marks = [
        Mark(MarkKind.LANDING, line, label)
        for plane, label in zip(landing.planes, landing.labels, strict=True)
        for line in on_panel(plank, laid, polygon, plane, inside=True, within=landing.within)
    ]
    if not marks:
        return [], []
    x = np.concatenate([mark.points[:, 0] for mark in marks])
    return marks, [KeepClear(float(x.min()) - keep, float(x.max()) + keep, landing.name)]


def on_panel(
    plank: Plank,
    laid: Laid,
    polygon: Polygon,
    plane: PartPlane,
    *,
    inside: bool,
    within: Sequence[tuple[Array, Array]] = (),
) -> list[Array]:
    """A plane's lines on a panel, clipped to it: (n, 2) part axes. `inside`: where the plane
    meets the inside face (a landing), else the panel at mid-thickness. `within`: half spaces."""
    strip = inner_strip(plank) if inside else mid_strip(plank)
    flat = np.vstack([plank.flat_lower, plank.flat_upper])
    middle = np.vstack([plank.mid_lower, plank.mid_upper])
    lines: list[Array] = []
    for cut in cut_strip(strip, plane.origin, plane.through):
        whole = on_other_sheet(cut, strip, middle, flat) if inside else cut.on(flat)
        for placed in kept_within(cut.points, whole, within):
            lines.extend(clipped(laid.points(placed), polygon))
            if laid.whole:
                lines.extend(clipped(laid.points(placed, second=True), polygon))
    return joined(lines) if laid.whole else lines


def kept_within(points: Array, flat: Array, within: Sequence[tuple[Array, Array]]) -> list[Array]:
    """The pieces of a flat line (n, 2) whose boat points (n, 3) lie in every half space."""
    pieces = [(points, flat)]
    for origin, normal in within:
        kept: list[tuple[Array, Array]] = []
        for boat, line in pieces:
            kept.extend(half_space(boat, line, (boat - origin) @ normal))
        pieces = kept
    return [line for _, line in pieces]


def half_space(boat: Array, line: Array, height: Array) -> list[tuple[Array, Array]]:
    """The pieces of a line where height (n,) is not negative, cut exactly where it is zero."""
    good = height >= 0.0
    if good.all():
        return [(boat, line)]
    pieces: list[tuple[Array, Array]] = []
    current: list[tuple[Array, Array]] = []
    for i in range(len(line)):
        if i and good[i] != good[i - 1]:
            t = height[i - 1] / (height[i - 1] - height[i])
            current.append(
                (
                    boat[i - 1] + t * (boat[i] - boat[i - 1]),
                    line[i - 1] + t * (line[i] - line[i - 1]),
                )
            )
        if good[i]:
            current.append((boat[i], line[i]))
        elif current:
            pieces.append((np.array([b for b, _ in current]), np.array([f for _, f in current])))
            current = []
    if current:
        pieces.append((np.array([b for b, _ in current]), np.array([f for _, f in current])))
    return pieces


def joined(lines: list[Array]) -> list[Array]:
    """Both halves of a whole panel's lines joined on the centreline where they meet there."""
    rest = list(lines)
    out: list[Array] = []
    while rest:
        line = rest.pop(0)
        for other in rest:
            pairs = [(np.hypot(*(line[i] - other[j])), i, j) for i in (0, -1) for j in (0, -1)]
            gap, i, j = min(pairs, key=lambda p: p[0])
            if gap < 0.5:
                a = line if i == -1 else line[::-1]
                b = other if j == 0 else other[::-1]
                line = np.vstack([a, b[1:]])
                rest = [r for r in rest if r is not other]
                break
        out.append(line)
    return out


def clipped(line: Array, polygon: Polygon, least: float = 1.0) -> list[Array]:
    """What of a line lies inside a part, pieces shorter than `least` mm left out."""
    if len(line) < 2:
        return []
    cut = LineString(line).simplify(1e-4).intersection(polygon)
    return [np.asarray(piece.coords) for piece in line_pieces(cut) if piece.length >= least]


def line_pieces(shape: BaseGeometry) -> list[LineString]:
    """The lines of whatever an intersection gave."""
    if isinstance(shape, LineString):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiLineString) or hasattr(shape, "geoms"):
        return [line for piece in shape.geoms for line in line_pieces(piece)]
    return []


def ruling_marks(plank: Plank, laid: Laid, polygon: Polygon, count: int = 24) -> list[Mark]:
    """About `count` rulings spread along the panel: lines the panel stays straight along."""
    chosen = np.unique(np.linspace(0, len(plank.rulings) - 1, count).astype(int))
    marks = []
    for i, j in plank.rulings[chosen]:
        ends = np.array([plank.flat_lower[i], plank.flat_upper[j]])
        for line in clipped(laid.points(ends), polygon):
            marks.append(Mark(MarkKind.RULING, line, ""))
    return marks


def hard_bends(plank: Plank, laid: Laid) -> list[KeepClear]:
    """Where the bend is firm or harder, part axes."""
    flat = np.vstack([plank.flat_lower, plank.flat_upper])
    shift = laid.points(flat)[:, 0].min() - flat[:, 0].min()
    return [
        KeepClear(float(start + shift), float(end + shift), "hard bend")
        for start, end in plank.bend.hard_stretches
    ]


def merged(stretches: Sequence[KeepClear], length: float) -> tuple[KeepClear, ...]:
    """Overlapping stretches put together with their reasons, cut to 0..length, in order."""
    out: list[KeepClear] = []
    for stretch in sorted(stretches, key=lambda k: (k.start, k.end)):
        start, end = max(0.0, stretch.start), min(length, stretch.end)
        if end <= start:
            continue
        if out and start <= out[-1].end:
            before = out[-1]
            reasons = before.reason.split(", ")
            if stretch.reason not in reasons:
                reasons.append(stretch.reason)
            out[-1] = KeepClear(before.start, max(before.end, end), ", ".join(reasons))
        else:
            out.append(KeepClear(start, end, stretch.reason))
    return tuple(out)


def neighbours(planking: Planking, plank: Plank) -> tuple[str, ...]:
    """Names of the planks that share a long line with this one."""
    mine = {plank.spec.lower, plank.spec.upper}
    return tuple(
        other.spec.name
        for other in planking.planks
        if other is not plank and mine & {other.spec.lower, other.spec.upper}
    )


def panel_centre(plank: Plank) -> tuple[float, float, float]:
    """Centre of gravity of the panels of both sides, by the triangles at mid-thickness, mm."""
    stacked = np.vstack([plank.mid_lower, plank.mid_upper])
    corner = stacked[strip_triangles(plank.rulings, len(plank.mid_lower))]
    area = 0.5 * np.linalg.norm(
        np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1
    )
    centre = (area[:, None] * corner.mean(axis=1)).sum(axis=0) / area.sum()
    return float(centre[0]), 0.0, float(centre[2])


def station_map(plank: Plank, laid: Laid, count: int = 60) -> Array:
    """x on the part against x in the boat at the middle of about `count` rulings: (n, 2), both
    rising."""
    chosen = np.unique(np.linspace(0, len(plank.rulings) - 1, count).astype(int))
    i, j = plank.rulings[chosen].T
    flat = laid.points(0.5 * (plank.flat_lower[i] + plank.flat_upper[j]))[:, 0]
    boat = 0.5 * (plank.mid_lower[i, 0] + plank.mid_upper[j, 0])
    rising = np.concatenate([[True], np.diff(np.maximum.accumulate(flat)) > 1e-6])
    flat, boat = flat[rising], boat[rising]
    rising = np.concatenate([[True], np.diff(np.maximum.accumulate(boat)) > 1e-6])
    return np.column_stack([flat[rising], boat[rising]])


def holds(part: FlatPart, points: Array, margin: float) -> NDArray[np.bool_]:
    """Which points (n, 2) lie inside a part at least `margin` mm from its edges."""
    inner = part_polygon(part).buffer(-margin)
    return np.array([inner.covers(Point(p)) for p in points], dtype=bool)
