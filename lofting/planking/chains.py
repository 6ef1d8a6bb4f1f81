"""Chains of points: the long lines sampled once, and what closes a plank at bow and stern.

Both planks of a seam use the same points of their line, so their edges can be compared point by
point. Where the boat has a stem curve, the piece of it between a plank's two lines belongs to
one of the two chains, which then starts (or ends) at the other line's end.

Rulings run from chain to chain, so to which of them a stem belongs says where its rulings can end.
A stem that bulges beyond the straight line from foot to head wants rulings to the upper line, as a
cone about its foot has them: it belongs to the lower chain. One that does not bulge may belong to
the upper chain. To the other line a bulging stem lies flat in its own plane and folds along the
line from foot to head.
"""

from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten
from lofting.fairing import FairLine, Lines
from lofting.findings import Refused
from lofting.offsets import Role
from lofting.tolerances import STEM_MEETS, STEM_SIDING
from lofting.vectors import chords, lengths, unit

Array = NDArray[np.float64]

BOW, STERN = 0, 1


@dataclass(frozen=True, eq=False)
class Chain:
    """Points (n, 3) with unit tangents (n, 3) from bow to stern and indices of true corners.

    parameter: (n,) where the points lie on the batten of a long line, beside a stem the line's
    end; empty for other chains. before, after: points of stem before the long line and after it.
    own_way: (m, 3) the long line's own tangents where it has stems, which it meets at corners.
    """

    points: Array
    tangents: Array
    corners: tuple[int, ...]
    parameter: Array = field(default_factory=lambda: np.empty(0))
    before: int = 0
    after: int = 0
    own_way: Array = field(default_factory=lambda: np.empty((0, 3)))

    @property
    def start(self) -> int:
        """Index of the long line's first point."""
        return self.before

    @property
    def stop(self) -> int:
        """Index after the long line's last point."""
        return len(self.points) - self.after

    @property
    def line(self) -> slice:
        """The long line within the chain."""
        return slice(self.start, self.stop)

    @property
    def line_tangents(self) -> Array:
        """Unit tangents (m, 3) of the long line, its own where it meets a stem."""
        return self.own_way if self.before or self.after else self.tangents

    def has_stem(self, end: int) -> bool:
        """Whether it has a piece of stem at that end."""
        return (self.before if end == BOW else self.after) > 0

    def stem(self, end: int) -> slice:
        """Its piece of stem at that end, the line's end included."""
        return slice(0, self.start + 1) if end == BOW else slice(self.stop - 1, None)

    def line_corners(self) -> tuple[int, ...]:
        """Corners of the long line, counted along it."""
        return tuple(c - self.start for c in self.corners if self.start <= c < self.stop)


@dataclass(frozen=True, eq=False)
class Ends:
    """What closes the hull at bow and stern.

    Attributes:
        transom: (bow, stern) true where the lines end on a transom.
        normal: (bow, stern) unit normals (3,) of the planes the lines end in, no y component.
        stem: (bow, stern) the stem curve there, or None. stem_line: its points (n, 3) from foot to
            head, close enough to be joined straight.
    """

    transom: tuple[bool, bool]
    normal: tuple[Array, Array]
    stem: tuple[FairLine | None, FairLine | None]
    stem_line: tuple[Array | None, Array | None] = (None, None)


def sample_line(line: FairLine, samples: int) -> Chain:
    """Points along a line, closer together where it bends more strongly.

    Steps go as 1 / sqrt(1 + curvature / mean curvature), at most three times closer than on a
    straight stretch, so the sag between points is evened out. Knuckles are kept.
    """
    return _sampled(line.batten, samples)


@lru_cache(maxsize=64)
def _sampled(batten: Batten, samples: int) -> Chain:
    """The samples of one batten, remembered: lines that did not change keep theirs."""
    knuckles = batten.parameter[list(batten.knuckles)]
    t, _ = batten.by_length(samples)
    bend = batten.curvature(t)
    mean = float(np.mean(bend))
    if mean * batten.length() > 1e-3:
        along = batten.length_at(t)
        closeness = np.minimum(np.sqrt(1.0 + bend / mean), 3.0)
        count = np.concatenate(
            [[0.0], np.cumsum(0.5 * (closeness[1:] + closeness[:-1]) * np.diff(along))]
        )
        # Whole steps between knuckles, so that they are kept exactly.
        cuts = np.interp(batten.length_at(np.array([t[0], *knuckles, t[-1]])), along, count)
        shares = np.maximum(np.round(np.diff(cuts) / cuts[-1] * (samples - 1)), 1).astype(int)
        wanted = np.concatenate(
            [
                np.linspace(a, b, n + 1)[:-1]
                for a, b, n in zip(cuts[:-1], cuts[1:], shares, strict=True)
            ]
            + [cuts[-1:]]
        )
        t = batten.at_length(np.interp(wanted, count, along))
        t[np.concatenate([[0], np.cumsum(shares)])] = [
            batten.parameter[0],
            *knuckles,
            batten.parameter[-1],
        ]
    points = batten.position(t)
    tangents = unit(batten.derivative(t))
    corners = [0]
    for knuckle in knuckles:
        k = int(np.argmin(np.abs(t - knuckle)))
        corners.append(k)
        before = points[k] - points[k - 1]
        tangents[k] = unit(unit(before) + tangents[k])
    corners.append(len(points) - 1)
    for array in (points, tangents, t):
        array.flags.writeable = False
    return Chain(points, tangents, tuple(corners), t)


def hull_ends(lines: Lines) -> Ends:
    """Whether the lines end at stems or transoms, in which planes, and on which stem curves."""
    long_lines = [line for line in lines.lines if line.role is not Role.STEM]
    transom = []
    normals = []
    for end in (0, -1):
        at = np.array([line.batten.points[end] for line in long_lines])
        transom.append(bool(np.max(np.abs(at[:, 1])) > STEM_SIDING))
        normals.append(_end_plane(at))
    stems: list[FairLine | None] = [None, None]
    for line in lines.lines:
        if line.role is Role.STEM:
            middle = float(np.mean(line.batten.points[:, 0]))
            ends_x = [
                float(np.mean([other.batten.points[end][0] for other in long_lines]))
                for end in (0, -1)
            ]
            stems[int(abs(middle - ends_x[1]) < abs(middle - ends_x[0]))] = line
    bow, stern = (None if stem is None else _points_along(stem) for stem in stems)
    return Ends(
        (transom[0], transom[1]), (normals[0], normals[1]), (stems[0], stems[1]), (bow, stern)
    )


def _end_plane(at: Array) -> Array:
    """Unit normal, without y component, of the plane fitted to the lines' ends."""
    profile = at[:, [0, 2]] - at[:, [0, 2]].mean(axis=0)
    if np.ptp(profile, axis=0).max() < 1.0:
        return np.array([1.0, 0.0, 0.0])
    _, _, axes = np.linalg.svd(profile, full_matrices=False)
    normal = np.array([axes[0, 1], 0.0, -axes[0, 0]])
    return normal if normal[0] > 0 else -normal


def closed_chains(
    lower: Chain, upper: Chain, ends: Ends, plank: str, *, low: tuple[bool, bool] = (False, False)
) -> tuple[Chain, Chain]:
    """Both long lines with the pieces of stem that join them at their ends.

    Args:
        low: whether the piece at the bow, and that at the stern, belongs to the lower chain.
    """
    spacing = float(chords(upper.points).mean())
    for end in (BOW, STERN):
        stem = ends.stem[end]
        if stem is None:
            continue
        at = 0 if end == BOW else -1
        piece = _stem_piece(stem, lower.points[at], upper.points[at], spacing, plank)
        if piece is None:
            continue
        if low[end]:
            lower = _with_stem(lower, piece.points[::-1], -piece.tangents[::-1], end)
        else:
            upper = _with_stem(upper, piece.points, piece.tangents, end)
    return lower, upper


def _with_stem(chain: Chain, points: Array, tangents: Array, end: int) -> Chain:
    """A chain with a piece of stem at one end, given from its tip to the line (n, 3)."""
    count = len(points) - 1
    if end == STERN:
        points, tangents = points[::-1], -tangents[::-1]
    at = 0 if end == BOW else len(chain.points) - 1
    # Where stem and line meet, the bisector lies in the plank's tangent plane as both do.
    between = unit(chain.tangents[at] + tangents[-2 if end == BOW else 1])
    own = chain.tangents.copy()
    own[at] = between
    known = np.full(count, chain.parameter[at]) if len(chain.parameter) else np.empty(0)
    own_way = chain.line_tangents
    if end == BOW:
        return replace(
            chain,
            own_way=own_way,
            points=np.concatenate([points[:-1], chain.points]),
            tangents=np.concatenate([tangents[:-1], own]),
            corners=(0, *(c + count for c in chain.corners)),
            parameter=np.concatenate([known, chain.parameter]),
            before=count,
        )
    return replace(
        chain,
        own_way=own_way,
        points=np.concatenate([chain.points, points[1:]]),
        tangents=np.concatenate([own, tangents[1:]]),
        corners=(*chain.corners, at + count),
        parameter=np.concatenate([chain.parameter, known]),
        after=count,
    )


def _stem_piece(
    stem: FairLine, foot: Array, head: Array, spacing: float, plank: str
) -> Chain | None:
    """The stem between two points that lie on it, foot to head, or None if it plays no part."""
    batten = stem.batten
    t_foot, off_foot = _nearest(stem, foot)
    t_head, off_head = _nearest(stem, head)
    if max(off_foot, off_head) > STEM_MEETS:
        return None
    s_foot, s_head = (float(s) for s in batten.length_at(np.array([t_foot, t_head])))
    if float(np.hypot(*(head - foot)[[0, 2]])) < STEM_MEETS:
        # Lines that end beside each other at the stem, as a keel and a broader chine do.
        return None
    if s_head < s_foot:
        raise Refused(
            f"plank {plank!r}",
            "Its upper line ends lower on the stem than its lower line.",
            "Check the ends of both lines and the stem, given from foot to head.",
        )
    count = max(int(np.ceil((s_head - s_foot) / spacing)), 4) + 1
    t = batten.at_length(np.linspace(s_foot, s_head, count))
    points = batten.position(t)
    share = np.linspace(0.0, 1.0, count)[:, None]
    # A millimetre of reading error is spread along the piece rather than left as a step.
    points = points + (1.0 - share) * (foot - points[0]) + share * (head - points[-1])
    points[0], points[-1] = foot, head
    return Chain(points, unit(batten.derivative(t)), (0, count - 1))


def _points_along(stem: FairLine) -> Array:
    points, _ = stem.batten.by_length(60)
    return np.asarray(stem.batten.position(points))


def stem_side(stem: Array, points: Array) -> Array:
    """Half-breadth (n,) of a stem, given by its points (m, 3), beside points (n, 3): at the
    nearest place in profile, mm."""
    profile, line = points[:, [0, 2]], stem[:, [0, 2]]
    step = np.diff(line, axis=0)
    length2 = np.maximum(np.einsum("mc,mc->m", step, step), 1e-12)
    apart = profile[:, None, :] - line[None, :-1, :]
    share = np.einsum("nmc,mc->nm", apart, step) / length2
    share = np.clip(share, 0.0, 1.0)
    off = apart - share[:, :, None] * step
    row, k = np.arange(len(points)), np.argmin(np.einsum("nmc,nmc->nm", off, off), axis=1)
    return np.asarray(stem[k, 1] + share[row, k] * (stem[k + 1, 1] - stem[k, 1]))


def _nearest(line: FairLine, point: Array) -> tuple[float, float]:
    """Parameter of the batten's point nearest to a point, and the distance in mm."""
    batten = line.batten
    t = np.linspace(batten.parameter[0], batten.parameter[-1], 400)
    step = t[1] - t[0]
    at = float(t[int(np.argmin(lengths(batten.position(t) - point)))])
    for _ in range(4):
        low, high = max(t[0], at - step), min(t[-1], at + step)
        fine = np.linspace(low, high, 21)
        distance = lengths(batten.position(fine) - point)
        at = float(fine[int(np.argmin(distance))])
        step = (high - low) / 20.0
    return at, float(np.linalg.norm(batten.position(np.array([at]))[0] - point))
