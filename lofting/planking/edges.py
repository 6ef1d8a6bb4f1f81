"""The real edges of every panel: joints along lines and stems, trimmed at bow and stern."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lofting.offsets import Face, Role
from lofting.planking.chains import BOW, STERN, Chain, Ends, stem_side
from lofting.planking.end_rulings import searched_ends
from lofting.planking.joints import Joint, centre_joint, free_edge, seam_joint
from lofting.planking.plate import Laid, on_panel
from lofting.planking.surface import faired_normals, panel_normals
from lofting.planking.trimming import RUN_ON, along, crossing, nearest, slid, slid_end, slide
from lofting.planking.values import Corner, PlankingSettings, PlankSpec
from lofting.tolerances import COINCIDENT, STEM_SIDING
from lofting.vectors import lengths, unit

Array = NDArray[np.float64]


ROUNDS = 3
"""Most rounds in which panels and the normals of their edges find each other. After the first
most stand still; where tips run out far along a stem a second and third are needed."""

STILL = 0.05
"""Edges that a further round would move by less than this, mm, stand still: half of what a seam is
held to."""


TOGETHER = 0.2
"""Keel and upper edge that come this near each other at an end, once thickness is allowed for,
end in one point, mm: what is left between them no saw follows."""

STEM_POINTS = 40
"""Points from a line's end among which it comes to the stem."""

RUNS_ON = 6
"""Most steps in which an edge run on to the stem finds where that is; three are the rule."""

INWARD = 4
"""Points from an end over which the turn of the normals is taken that goes on beyond it."""


@dataclass(frozen=True, eq=False)
class Surface:
    """One plank's drawn surface: its edges, rulings and the normals along its edges.

    panel_lower (n, 3), panel_upper (m, 3): normals of the panel at mid-thickness along its two
    long lines, once there is a panel to take them from; panel_stems: the same along its pieces of
    stem at bow and stern, point for point. laid: the sheet that has its rulings, if it does not
    develop.
    """

    spec: PlankSpec
    role: Role
    lower: Chain
    upper: Chain
    rulings: NDArray[np.intp]
    lower_normals: Array
    upper_normals: Array
    panel_lower: Array | None = None
    panel_upper: Array | None = None
    panel_stems: tuple[Array, Array] | None = None
    laid: Laid | None = None

    def has_stem(self, end: int) -> bool:
        """Whether either chain has a piece of stem at that end."""
        return self.lower.has_stem(end) or self.upper.has_stem(end)

    def stem_low(self, end: int) -> bool:
        """Whether the piece of stem at that end belongs to the lower chain."""
        return self.lower.has_stem(end)

    def stem_normals(self, end: int) -> Array:
        """Normals along the piece of stem at that end, its point on the long line included."""
        if self.stem_low(end):
            return along_stem(self.lower_normals[self.lower.stem(end)], end)
        return along_stem(self.upper_normals[self.upper.stem(end)], end)

    def pointed(self, end: int) -> bool:
        """Whether the two chains share their point at that end."""
        at = 0 if end == BOW else -1
        gap = self.lower.points[at] - self.upper.points[at]
        return bool(np.linalg.norm(gap) < COINCIDENT)


def along_stem(normals: Array, end: int) -> Array:
    """Normals (m, 3) along a piece of stem at that end, bow first, freed of steps.

    The point where the stem meets its long line carries the line's normal: here the stem's own
    runs on to it.
    """
    own = normals.copy()
    if len(own) < 2:
        return own
    head, inward = (-1, -2) if end == BOW else (0, 1)
    own[head] = own[inward]
    return faired_normals(own, (0, len(own) - 1))


@dataclass(frozen=True, eq=False)
class PanelEdges:
    """A panel's edges: mid-thickness, bearing and corner lines, sharing the chains' indices.

    lower_at, upper_at: where along the two long lines their points on the trimmed panel lie, mm.
    """

    mid_lower: Array
    mid_upper: Array
    inner_lower: Array
    inner_upper: Array
    corner_lower: Array
    corner_upper: Array
    lower_at: Array
    upper_at: Array


def panel_edges(
    surfaces: list[Surface], settings: PlankingSettings, drawn_to: Face, ends: Ends
) -> tuple[list[Surface], list[PanelEdges]]:
    """Edges of all panels at once, since neighbours decide each other's joints; and the surfaces
    with what the panels tell of them: rulings near the ends, normals along the edges.

    A panel's edge lies half a thickness from its corner line along the panel's own normal, which
    is known once the panel is there: edges and normals are found in turn.
    """
    edges = _jointed(surfaces, settings, drawn_to, ends, bearing=False)
    surfaces = [_ruled(*pair) for pair in zip(surfaces, edges, strict=True)]
    for done in range(ROUNDS):
        again = [_settled(*pair) for pair in zip(surfaces, edges, strict=True)]
        if done > 0 and all(_stands(*pair) for pair in zip(surfaces, again, strict=True)):
            break
        surfaces = again
        edges = _jointed(surfaces, settings, drawn_to, ends, bearing=True)
    return surfaces, edges


def _stands(before: Surface, after: Surface) -> bool:
    """Whether a surface's edges turn by so little from one round to the next that they stay."""
    known = [
        (surface.panel_lower, surface.panel_upper, *(surface.panel_stems or ()))
        for surface in (before, after)
    ]
    turned = 2.0 * STILL / before.spec.thickness
    return all(
        one is not None and two is not None and np.abs(two - one).max(initial=0.0) < turned
        for one, two in zip(*known, strict=True)
    )


def _ruled(surface: Surface, edges: PanelEdges) -> Surface:
    """The surface with the rulings that its panel has near its ends."""
    # Pieces of stem slide from foot to head.
    lower, upper = (np.full(len(chain.points), np.inf) for chain in (surface.lower, surface.upper))
    for slid_by, chain, at in (
        (lower, surface.lower, edges.lower_at),
        (upper, surface.upper, edges.upper_at),
    ):
        slid_by[chain.line] = at - along(chain.points[chain.line])
    panel = edges.mid_lower, edges.mid_upper
    if surface.laid is not None and surface.laid.sheet is not None:
        laid = on_panel(surface.laid, *panel)
    else:
        laid = Laid(searched_ends(surface.rulings, *panel, lower, upper))
    rulings = laid.rulings
    rulings.flags.writeable = False
    return replace(surface, rulings=rulings, laid=laid)


def _settled(surface: Surface, edges: PanelEdges) -> Surface:
    """The surface with the normals that its panel has along its edges."""
    at_lower, at_upper = panel_normals(edges.mid_lower, edges.mid_upper, surface.rulings)
    lines = [
        _at_points(
            along(chain.points[chain.line]),
            at,
            faired_normals(normals[chain.line], chain.line_corners()),
        )
        for chain, at, normals in (
            (surface.lower, edges.lower_at, at_lower),
            (surface.upper, edges.upper_at, at_upper),
        )
    ]
    bow, stern = (
        along_stem(at_lower[surface.lower.stem(end)], end)
        if surface.stem_low(end)
        else along_stem(at_upper[surface.upper.stem(end)], end)
        for end in (BOW, STERN)
    )
    return replace(surface, panel_lower=lines[0], panel_upper=lines[1], panel_stems=(bow, stern))


def _at_points(s: Array, at: Array, normals: Array) -> Array:
    """Normals known at places `at` (n,) along a line, at its own points s (n,); they turn on
    beyond the ends as they do just inside."""
    column = [np.interp(s, at, c) for c in normals.T]
    result = np.column_stack(column)
    for beyond, end, inward in ((s < at[0], 0, INWARD), (s > at[-1], -1, -1 - INWARD)):
        slope = (normals[inward] - normals[end]) / (at[inward] - at[end])
        result[beyond] = normals[end] + (s[beyond] - at[end])[:, None] * slope
    return unit(result)


def _jointed(
    surfaces: list[Surface],
    settings: PlankingSettings,
    drawn_to: Face,
    ends: Ends,
    *,
    bearing: bool,
) -> list[PanelEdges]:
    """One round: joints for the normals known so far, trimmed at the ends. Without `bearing`,
    where frames bear is left untrimmed."""
    lower: list[Joint | None] = [None] * len(surfaces)
    upper: list[Joint | None] = [None] * len(surfaces)
    above = {surface.spec.lower: k for k, surface in enumerate(surfaces)}
    for k, surface in enumerate(surfaces):
        line = surface.spec.upper
        neighbour = above.get(line)
        if neighbour is None:
            continue
        other = surfaces[neighbour]
        upper[k], lower[neighbour] = seam_joint(
            surface.upper.points[surface.upper.line],
            other.lower.line_tangents,
            (surface.upper_normals[surface.upper.line], other.lower_normals[other.lower.line]),
            (surface.spec.thickness, other.spec.thickness),
            drawn_to,
            settings.corner(line),
            panels=_both(surface.panel_upper, other.panel_lower),
        )
    result = []
    for k, surface in enumerate(surfaces):
        low = lower[k] or _outer_edge(surface, settings, drawn_to, 0)
        up = upper[k] or _outer_edge(surface, settings, drawn_to, 1)
        rule = settings.corner(surface.spec.lower)
        result.append(_trimmed(surface, (low, up), rule, drawn_to, ends, bearing))
    return result


def _both(one: Array | None, two: Array | None) -> tuple[Array, Array] | None:
    return None if one is None or two is None else (one, two)


def _outer_edge(surface: Surface, settings: PlankingSettings, drawn_to: Face, own: int) -> Joint:
    """The edge of a plank with no neighbour there: keel, sheer, or centreline of a whole one."""
    thickness = surface.spec.thickness
    if own == 1:
        chain, normals = surface.upper, surface.upper_normals[surface.upper.line]
        points = chain.points[chain.line]
        return free_edge(points, normals, thickness, drawn_to, panel=surface.panel_upper)
    line, panel = surface.lower.line, surface.panel_lower
    points, normals = surface.lower.points[line], surface.lower_normals[line]
    if surface.spec.whole:
        flat = normals * np.array([1.0, 0.0, 1.0])
        flat = flat / np.maximum(lengths(flat)[:, None], 1e-9)
        return free_edge(points, flat, thickness, drawn_to)
    if float(np.max(np.abs(points[:, 1]))) <= STEM_SIDING:
        rule = settings.corner(surface.spec.lower)
        return centre_joint(points, normals, thickness, drawn_to, rule, panel=panel)
    return free_edge(points, normals, thickness, drawn_to, panel=panel)


def _trimmed(
    surface: Surface,
    joints: tuple[Joint, Joint],
    keel: Corner,
    drawn_to: Face,
    ends: Ends,
    bears: bool,
) -> PanelEdges:
    """The edges cut where they end; keel: how the plank meets its mirror image, if it does."""
    low, up = joints
    lower = surface.lower.points[surface.lower.line]
    line = surface.upper.points[surface.upper.line]
    on_centre = float(np.max(np.abs(lower[:, 1]))) <= STEM_SIDING
    s_low, s_up = along(lower), along(line)
    low_corners, line_corners = surface.lower.line_corners(), surface.upper.line_corners()
    low_cuts, up_cuts = [0.0, 0.0], [0.0, 0.0]
    low_bearing, up_bearing = [0.0, 0.0], [0.0, 0.0]
    closed = [surface.pointed(0), surface.pointed(1)]
    for end in (0, 1):
        at = 0 if end == BOW else -1
        for points, s, joint, cuts, bearing, centred in (
            (line, s_up, up, up_cuts, up_bearing, False),
            (lower, s_low, low, low_cuts, low_bearing, on_centre),
        ):
            if ends.transom[end]:
                normal = ends.normal[end] * (1.0 if end == BOW else -1.0)
                cuts[end] = crossing((joint.mid - points[at]) @ normal, s, end)
                if bears:
                    bearing[end] = crossing((joint.bearing - points[at]) @ normal, s, end)
            elif not centred:
                # A point that bears no piece of stem ends where its own line does.
                bare = surface.pointed(end) and not surface.has_stem(end)
                stem = None if bare else ends.stem_line[end]
                aside = partial(_beyond, points[at], stem, end)
                # A tip that lies on the keel's seam comes to the centre plane as that does.
                outer = bare and on_centre and keel is Corner.OUTER
                cuts[end] = _to_stem(_arris(joint, outer), s, aside, end)
                if bears:
                    bearing[end] = _to_stem(joint.bearing, s, aside, end)
        if on_centre and not ends.transom[end] and not surface.has_stem(end):
            # The keel edge lies in the centre plane: it ends where the upper edge does, if the
            # two meet; lines that end a little apart may meet once thickness is allowed for.
            outer = surface.pointed(end) and keel is Corner.OUTER
            along_up, along_low = _arris(up, outer), _arris(low, outer)
            (tip,) = slide([along_up], s_up, _only(end, up_cuts[end]), line_corners)
            cut = nearest(along_low, s_low, tip[at], end)
            (met,) = slide([along_low], s_low, _only(end, cut), low_corners)
            apart = float(np.linalg.norm(met[at] - tip[at]))
            meets = surface.pointed(end) or (cut > 0.0 and apart < TOGETHER)
            if not meets and not (cut > 0.0 and apart < 0.25 * cut):
                continue
            # Edges that end apart, as at the side of a stem, leave a blunt end between them.
            low_cuts[end], closed[end] = cut, meets
            (tip,) = slide([up.bearing], s_up, _only(end, up_bearing[end]), line_corners)
            low_bearing[end] = nearest(low.bearing, s_low, tip[at], end)
    cut_low, cut_up = (low_cuts[0], low_cuts[1]), (up_cuts[0], up_cuts[1])
    mid_low, corner_low = slide([low.mid, low.corner], s_low, cut_low, low_corners)
    (bear_low,) = slide([low.bearing], s_low, (low_bearing[0], low_bearing[1]), low_corners)
    mid_up, corner_up = slide([up.mid, up.corner], s_up, cut_up, line_corners)
    (bear_up,) = slide([up.bearing], s_up, (up_bearing[0], up_bearing[1]), line_corners)
    places = slid(s_low, cut_low, low_corners), slid(s_up, cut_up, line_corners)
    edges = PanelEdges(mid_low, mid_up, bear_low, bear_up, corner_low, corner_up, *places)
    edges = _with_stems(surface, edges, drawn_to, ends)
    return _closed_points(surface, edges, closed)


def _arris(joint: Joint, outer: bool) -> Array:
    """The outside or inside arris of a panel's square edge, (n, 3)."""
    return 2.0 * joint.mid - joint.face if outer else joint.face


def _beyond(line_end: Array, stem: Array | None, end: int, curve: Array) -> Array:
    """How far outboard of the stem's side the points of a curve (n, 3) lie, mm: (n,).

    Without a stem curve its side is where the line ends, else where the curve itself comes to
    the stem, which may be wider at the head than at the foot.
    """
    height = curve[:, 1] - line_end[1]
    if stem is None:
        return np.asarray(height)
    beside = slice(0, STEM_POINTS) if end == BOW else slice(-STEM_POINTS, None)
    height[beside] = curve[beside, 1] - stem_side(stem, curve[beside])
    return np.asarray(height)


def _to_stem(curve: Array, s: Array, aside: Callable[[Array], Array], end: int) -> float:
    """How far from its end a curve (n, 3) must be cut so that it ends at the stem's side, mm;
    negative where it is run on.

    Beside the stem's foot the side turns: whoever runs on along the stem meets another slope than
    the curve's own points do, so the run is found again with the side where it ends (secant rule).
    """
    cut = crossing(aside(curve), s, end)
    if cut >= 0.0:
        return cut
    before, was = 0.0, float(aside(curve)[0 if end == BOW else -1])
    for _ in range(RUNS_ON):
        away = float(aside(slid_end(curve, s, cut, end))[0])
        if abs(away) < COINCIDENT or abs(away - was) < 1e-9:
            break
        before, was, cut = cut, away, cut - away * (cut - before) / (away - was)
    return min(max(cut, -RUN_ON), 0.0)


def _only(end: int, cut: float) -> tuple[float, float]:
    return (cut, 0.0) if end == BOW else (0.0, cut)


def _with_stems(surface: Surface, edges: PanelEdges, drawn_to: Face, ends: Ends) -> PanelEdges:
    """The stem's pieces put before and after the long line they belong with, cut where the edges
    end."""
    whole = [
        [edges.mid_lower, edges.inner_lower, edges.corner_lower],
        [edges.mid_upper, edges.inner_upper, edges.corner_upper],
    ]
    for end in (BOW, STERN):
        if surface.has_stem(end):
            own = 0 if surface.stem_low(end) else 1
            at = 0 if end == BOW else -1
            tip, line = ([edge[at] for edge in whole[k][:2]] for k in (1 - own, own))
            added = _stem_edges(surface, drawn_to, ends, end, (tip, line))
            for k, piece in enumerate(added):
                pair = [piece[:-1], whole[own][k]] if end == BOW else [whole[own][k], piece[1:]]
                whole[own][k] = np.concatenate(pair)
    (mid_low, in_low, corner_low), (mid_up, in_up, corner_up) = whole
    return replace(
        edges,
        mid_lower=mid_low,
        mid_upper=mid_up,
        inner_lower=in_low,
        inner_upper=in_up,
        corner_lower=corner_low,
        corner_upper=corner_up,
    )


def _stem_edges(
    surface: Surface,
    drawn_to: Face,
    ends: Ends,
    end: int,
    meets: tuple[list[Array], list[Array]],
) -> tuple[Array, Array, Array]:
    """Mid-thickness, bearing and corner lines (n, 3) of a piece of stem, bow first.

    Args:
        meets: mid-thickness and bearing ends (3,) of the edge that ends in the piece's tip, and of
            the edge it belongs with.
    """
    chain = surface.lower if surface.stem_low(end) else surface.upper
    points, thickness = chain.points[chain.stem(end)], surface.spec.thickness
    normals = surface.stem_normals(end)
    own = normals if surface.panel_stems is None else surface.panel_stems[end]
    joint = centre_joint(points, normals, thickness, drawn_to, Corner.INNER, panel=own)
    s = along(points)
    bend = (0, len(s) - 1)
    cuts = []
    for curve, tip, line in zip((joint.mid, joint.bearing), *meets, strict=True):
        first, last = (tip, line) if end == BOW else (line, tip)
        cuts.append((nearest(curve, s, first, BOW), nearest(curve, s, last, STERN)))
    (corner,) = slide([joint.corner], s, cuts[0], bend)
    mid = corner + 0.5 * thickness * own
    (bearing,) = slide([joint.bearing], s, cuts[1], bend)
    mid = _warped(mid, s, meets[0][0], meets[1][0], end)
    stem = ends.stem_line[end]
    if stem is not None:
        # Laid along the stem, its inside arris comes to the stem's side there.
        face = (mid - 0.5 * thickness * own)[1:-1]
        mid[1:-1, 1] += stem_side(stem, face) - face[:, 1]
    return mid, _warped(bearing, s, meets[0][1], meets[1][1], end), corner


def _warped(curve: Array, s: Array, tip: Array, line: Array, end: int) -> Array:
    """A piece of stem laid through the ends of the edges it joins: where a plank twists at the
    stem they do not quite lie in one plane with it, and the seams have the say."""
    first, last = (tip, line) if end == BOW else (line, tip)
    share = (s / s[-1])[:, None]
    return np.asarray(curve + (1.0 - share) * (first - curve[0]) + share * (last - curve[-1]))


def _closed_points(surface: Surface, edges: PanelEdges, closed: list[bool]) -> PanelEdges:
    """At a pointed end both edges end in one point: the middle of where each would."""
    lower = surface.lower.points[surface.lower.line]
    on_centre = float(np.max(np.abs(lower[:, 1]))) <= STEM_SIDING
    mid_low, mid_up = edges.mid_lower.copy(), edges.mid_upper.copy()
    in_low, in_up = edges.inner_lower.copy(), edges.inner_upper.copy()
    for end in (0, 1):
        if closed[end]:
            at = 0 if end == BOW else -1
            if surface.upper.has_stem(end):
                # The stem's piece was cut to the lower edge's end.
                mid_up[at], in_up[at] = mid_low[at], in_low[at]
            elif surface.lower.has_stem(end):
                mid_low[at], in_low[at] = mid_up[at], in_up[at]
            elif on_centre:
                # Both come to the centreline there; the upper edge has a neighbour to keep to.
                mid_low[at], in_low[at] = mid_up[at], in_up[at]
            else:
                mid_low[at] = mid_up[at] = 0.5 * (mid_low[at] + mid_up[at])
                in_low[at] = in_up[at] = 0.5 * (in_low[at] + in_up[at])
    return replace(
        edges, mid_lower=mid_low, mid_upper=mid_up, inner_lower=in_low, inner_upper=in_up
    )
