"""A plank split lengthwise into two strakes along a seam that lies on its developed surface.

The seam is drawn on the flat panel, where a builder would snap or spring it. Each ruling it crosses
is cut there, so both strakes are pieces of the very triangles the plank was unrolled from: they
keep every length, meet edge to edge point for point, and lie in space where the plank did.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Refused
from lofting.planking.chains import Chain
from lofting.planking.edges import PanelEdges, Surface
from lofting.planking.lapping import lapped
from lofting.planking.leaning import leaned
from lofting.planking.seamlines import crossing_shares, place_on, seam_line
from lofting.planking.sheets import Sheets
from lofting.planking.trimming import along
from lofting.planking.values import Plank, PlankSplit, SplitJoint

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


TOGETHER = 1e-3
"""Seam points nearer to each other than this are one, mm: a hundredth of what can be sawn."""

CORNER = float(np.radians(20.0))
"""Turn between two pieces of an edge from which it is a corner that no batten goes round."""


@dataclass(frozen=True, eq=False)
class Strake:
    """One of the two, ready to be laid flat; source: (k,) the whole plank's ruling that each of
    its own is a piece of; let_in: see Plank."""

    surface: Surface
    edges: PanelEdges
    source: Indices
    let_in: Array = field(default_factory=lambda: np.empty(0))


@dataclass(frozen=True, eq=False)
class _Whole:
    """The plank, with a point of its own on its upper chain where the seam meets a stem.

    Attributes:
        rulings: (k, 2); source: (k,) which ruling of the plank each is.
        corners: of the upper chain. first, last: the stretch of that chain above the seam.
        line: (start, stop) of the upper long line on the chain.
    """

    lower: Sheets
    upper: Sheets
    rulings: Indices
    source: Indices
    corners: tuple[int, ...]
    first: int
    last: int
    line: tuple[int, int]

    @property
    def stems(self) -> tuple[bool, bool]:
        """Whether the seam begins, and ends, on a stem."""
        return self.first > 0, self.last < len(self.upper) - 1


def split_plank(
    surface: Surface,
    edges: PanelEdges,
    plank: Plank,
    split: PlankSplit,
    stems: tuple[Array | None, Array | None],
) -> tuple[Strake, Strake]:
    """The strake below the seam and the strake above it.

    Args:
        surface, edges: of the whole plank. plank: the same, with its flat panel.
        stems: the stem's points at bow and stern, where it has one.

    Raises:
        Refused: a seam that leaves the plank, or that runs along its rulings.
    """
    whole = _with_stem_points(surface, edges, plank, split)
    on_chain = whole.rulings[:, 1]
    cut = np.flatnonzero((on_chain >= whole.first) & (on_chain <= whole.last))
    from_lower, from_upper = (
        sheet.rows(whole.rulings[cut, k]) for k, sheet in enumerate((whole.lower, whole.upper))
    )
    way = seam_line(plank, split)
    share = crossing_shares(from_lower.flat, from_upper.flat, way, split)
    share[[0, -1]] = np.where(whole.stems, 1.0, share[[0, -1]])
    seam = from_lower.mixed(from_upper, share)
    # Rulings that fan about a tip are all cut there: one point of the seam is enough.
    steps = np.hypot(*np.diff(seam.flat, axis=0).T)
    distinct = np.concatenate([[True], steps > TOGETHER])
    if not distinct[-1]:
        distinct[np.flatnonzero(distinct)[-1]] = False
        distinct[-1] = True
    point = np.maximum(np.cumsum(distinct) - 1, 0)
    seam, from_lower, from_upper = (
        sheet.rows(distinct) for sheet in (seam, from_lower, from_upper)
    )
    seam = seam.with_tangents()
    _check_order(seam, way, split)
    stop = whole.first + len(seam)
    upper = (
        whole.upper.rows(slice(0, whole.first))
        .followed_by(seam)
        .followed_by(whole.upper.rows(slice(whole.last + 1, None)))
    )
    over_seam = whole.upper.rows(slice(whole.first, whole.last + 1))
    below_edge, above_edge, let_in = lapped(
        seam, from_lower, from_upper, way, split, plank.spec.thickness, whole.stems
    )
    bends = _bends(below_edge.flat), _bends(above_edge.flat)
    shift = stop - 1 - whole.last
    outer = [c if c < whole.first else c + shift for c in whole.corners if _beyond(whole, c)]
    inner = [c - whole.first for c in whole.corners if whole.first < c < whole.last]
    below = _strake(
        replace(surface, spec=replace(plank.spec, name=split.below, upper=split.seam)),
        (whole.lower, surface.lower.corners, surface.lower.parameter),
        (
            upper.put(whole.first, below_edge),
            _ordered(
                [*outer, *(whole.first + c for c in bends[0])], whole.first, stop - 1, len(upper)
            ),
        ),
        (whole.first, stop),
        *_below(whole, cut, point),
    )
    spec = replace(plank.spec, name=split.above, lower=split.seam, whole=False)
    start, end = (at - whole.first for at in whole.line)
    above = _strake(
        replace(surface, spec=spec),
        (above_edge, (0, *bends[1], len(seam) - 1), np.empty(0)),
        (over_seam, _ordered(inner, start, end - 1, len(over_seam))),
        (start, end),
        *_above(whole, cut, point),
    )
    if split.joint is SplitJoint.BUTTED or split.lap <= 0.0:
        return below, above
    below, above = (replace(strake, let_in=let_in) for strake in (below, above))
    if split.joint is SplitJoint.UPPER_LAPS:
        edges = leaned(above.surface, above.edges, stems, over_seam=True)
        return below, replace(above, edges=edges)
    if plank.spec.whole:
        return below, above
    return replace(below, edges=leaned(below.surface, below.edges, stems, over_seam=False)), above


def _with_stem_points(
    surface: Surface, edges: PanelEdges, plank: Plank, split: PlankSplit
) -> _Whole:
    chain, start, stop = surface.upper, surface.upper.start, surface.upper.stop
    lower = Sheets.of(
        surface.lower.points,
        surface.lower.tangents,
        surface.lower_normals,
        edges.mid_lower,
        edges.inner_lower,
        edges.corner_lower,
        plank.flat_lower,
    )
    upper = Sheets.of(
        chain.points,
        chain.tangents,
        surface.upper_normals,
        edges.mid_upper,
        edges.inner_upper,
        edges.corner_upper,
        plank.flat_upper,
    )
    whole = _Whole(
        lower,
        upper,
        surface.rulings,
        np.arange(len(surface.rulings)),
        chain.corners,
        0,
        len(upper) - 1,
        (start, stop),
    )
    if stop < len(upper):
        piece, share = place_on(upper.flat[stop - 1 :], 1.0 - split.transom)
        whole = _with_point(whole, stop - 1 + piece, share)
        whole = replace(whole, last=stop + piece)
    if start > 0:
        piece, share = place_on(upper.flat[: start + 1], split.stem)
        whole = _with_point(whole, piece, share)
        last = whole.last if stop == len(upper) else whole.last + 1
        last = len(whole.upper) - 1 if stop == len(upper) else last
        whole = replace(whole, first=piece + 1, last=last, line=(start + 1, stop + 1))
    return replace(whole, last=len(whole.upper) - 1) if stop == len(upper) else whole


def _with_point(whole: _Whole, after: int, share: float) -> _Whole:
    """A point put into the upper chain: the triangle that stands on that piece becomes two."""
    j = whole.rulings[:, 1]
    at = int(np.flatnonzero(j == after)[-1]) + 1
    more = np.array([whole.rulings[at - 1, 0], after + 1])
    moved = whole.rulings + np.column_stack([np.zeros(len(j), dtype=np.intp), j > after])
    return replace(
        whole,
        upper=whole.upper.with_point(after, share),
        rulings=np.insert(moved, at, more, axis=0),
        source=np.insert(whole.source, at, whole.source[at]),
        corners=tuple(c if c <= after else c + 1 for c in whole.corners),
    )


def _bends(edge: Array) -> tuple[int, ...]:
    """Points of a flat edge (n, 2), its ends left out, where it turns a corner: a lap that runs on
    under a strake outside follows the stem until it is as broad as it should be."""
    steps = np.diff(edge, axis=0)
    steps = steps / np.maximum(np.hypot(*steps.T), 1e-12)[:, None]
    turned = np.einsum("nc,nc->n", steps[1:], steps[:-1]) < np.cos(CORNER)
    return tuple(int(k) + 1 for k in np.flatnonzero(turned))


def _beyond(whole: _Whole, corner: int) -> bool:
    return corner < whole.first or corner > whole.last


def _ordered(corners: list[int], first: int, last: int, count: int) -> tuple[int, ...]:
    return tuple(sorted({0, *corners, first, last, count - 1}))


def _check_order(seam: Sheets, way: Array, split: PlankSplit) -> None:
    """The seam must meet the rulings one after the other."""
    reach = along(way)
    steps = np.diff(seam.flat, axis=0)
    nearest = np.clip(np.searchsorted(reach, along(seam.flat)[:-1]), 0, len(way) - 2)
    if np.any(np.einsum("kc,kc->k", steps, np.diff(way, axis=0)[nearest]) < -1e-6):
        raise Refused(
            f"seam of plank {split.plank!r}",
            "The seam cannot be cut: it runs along the rulings of the plank.",
            "Let it run between the edges, or give other shares of the breadth.",
        )


def _below(whole: _Whole, cut: Indices, point: Indices) -> tuple[Indices, Indices]:
    """Rulings of the strake below and the plank's ruling each is a piece of. Between two rulings
    that are cut the piece of triangle is bounded by four sides where the lower edge moves: it
    takes one ruling more, in the same plane. point: (len(cut),) where each is cut, along the
    seam."""
    rulings: list[tuple[int, int]] = []
    source: list[int] = []
    place = {int(at): whole.first + int(k) for at, k in zip(cut, point, strict=True)}
    shift = int(point[-1]) - (whole.last - whole.first)
    before: tuple[int, int] | None = None
    for at, (i, j) in enumerate(whole.rulings.tolist()):
        up = place.get(at, j if j < whole.first else j + shift)
        if before is not None and i > before[0] and up > before[1]:
            rulings.append((before[0], up))
            source.append(int(whole.source[at - 1]))
        if (i, up) != before:
            rulings.append((i, up))
            source.append(int(whole.source[at]))
        before = (i, up)
    return np.array(rulings, dtype=np.intp), np.array(source, dtype=np.intp)


def _above(whole: _Whole, cut: Indices, point: Indices) -> tuple[Indices, Indices]:
    """As `_below`, for the strake above."""
    rulings: list[tuple[int, int]] = []
    source: list[int] = []
    before: tuple[int, int] | None = None
    for at, k in zip(cut.tolist(), point.tolist(), strict=True):
        up = int(whole.rulings[at, 1]) - whole.first
        if before is not None and up > before[1] and k > before[0]:
            rulings.append((k, before[1]))
            source.append(int(whole.source[at - 1]))
        if (k, up) != before:
            rulings.append((k, up))
            source.append(int(whole.source[at]))
        before = (k, up)
    return np.array(rulings, dtype=np.intp), np.array(source, dtype=np.intp)


def _strake(
    surface: Surface,
    lower: tuple[Sheets, tuple[int, ...], Array],
    upper: tuple[Sheets, tuple[int, ...]],
    line: tuple[int, int],
    rulings: Indices,
    source: Indices,
) -> Strake:
    low, low_corners, parameter = lower
    up, up_corners = upper
    line_at = along(up.mid[line[0] : line[1]])
    made = replace(
        surface,
        lower=Chain(low.points, low.tangents, low_corners, parameter),
        upper=Chain(
            up.points,
            up.tangents,
            up_corners,
            before=line[0],
            after=len(up) - line[1],
            own_way=up.tangents[line[0] : line[1]],
        ),
        rulings=rulings,
        lower_normals=low.normals,
        upper_normals=up.normals,
        panel_lower=None,
        panel_upper=None,
    )
    edges = PanelEdges(
        mid_lower=low.mid,
        mid_upper=up.mid,
        inner_lower=low.inner,
        inner_upper=up.inner,
        corner_lower=low.corner,
        corner_upper=up.corner,
        lower_at=along(low.mid),
        upper_at=line_at,
    )
    return Strake(made, edges, source)
