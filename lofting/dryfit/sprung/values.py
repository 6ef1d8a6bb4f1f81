"""What springing flat panels together starts from and what comes of it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FlatPanel:
    """A flat panel of the starboard half, lying with its bow towards -x, lower edge below.

    Attributes:
        lower (n, 2), upper (m, 2): its edges from bow to stern, mm. thickness: mm.
        keel: its lower edge lies on the centre plane. halved: it is half of a panel that runs
            across the boat, cut at its centreline, which is its lower edge.
        stem, stern_post: its fore or after end lies on the centre plane.
    """

    name: str
    lower: Array
    upper: Array
    thickness: float
    keel: bool = False
    halved: bool = False
    stem: bool = False
    stern_post: bool = False


@dataclass(frozen=True)
class Landing:
    """Where an edge of a piece lands on a panel: the two ends on the flat panel, mm."""

    panel: str
    low: tuple[float, float]
    high: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Piece:
    """A stiff flat piece across the boat: a frame, bulkhead or transom.

    Attributes:
        corners: (k + 1, 2) half-breadth and height of its starboard corners from the keel up.
        landings: k of them; the edge from corner j to j + 1 lands on landings[j]. None: free.
    """

    name: str
    corners: Array
    landings: tuple[Landing | None, ...]


@dataclass(frozen=True)
class StickEnd:
    """Where a stick stands on a panel: its name and the point on the flat panel, mm."""

    panel: str
    at: tuple[float, float]


@dataclass(frozen=True)
class Spreader:
    """A stick that holds two points apart while the boat is put together.

    Attributes:
        a, b: its ends, on the inner faces. length: from end to end, mm. across: it reaches from
            one side of the boat to the other; otherwise both ends are on one side, and there is
            another like it on the other side.
    """

    name: str
    a: StickEnd
    b: StickEnd
    length: float
    across: bool = True

    @property
    def square(self) -> bool:
        """Whether it runs straight across, from a point to the same point of the other side."""
        return self.across and self.a == self.b


@dataclass(frozen=True, eq=False)
class SpringPlan:
    """Panels from the keel up, the pieces that hold them, and the sticks between them.

    Neighbouring panels meet upper edge to lower edge. `inside` says whether panels meet at the
    inner corners of their edges and pieces touch their inner faces (as stitched boats go
    together); otherwise everything meets at mid-thickness.
    """

    panels: tuple[FlatPanel, ...]
    pieces: tuple[Piece, ...]
    spreaders: tuple[Spreader, ...] = ()
    inside: bool = True

    @property
    def key(self) -> tuple[object, ...]:
        """The plan's values, by which a shape is remembered."""
        panels = tuple(
            (p.name, p.lower.tobytes(), p.upper.tobytes(), p.thickness)
            + (p.keel, p.halved, p.stem, p.stern_post)
            for p in self.panels
        )
        pieces = tuple((p.name, p.corners.tobytes(), p.landings) for p in self.pieces)
        return panels, pieces, self.spreaders, self.inside


@dataclass(frozen=True, eq=False)
class SprungPanel:
    """A panel in its place, starboard, mid-thickness unless said otherwise, mm.

    Attributes:
        lower (n, 3), upper (m, 3): its edges at the points of the flat ones.
        inner_lower, inner_upper, outer_lower, outer_upper: the same on its two faces.
        grid (p, q, 3): its surface between them, bow to stern and lower to upper; strain (p, q):
            largest strain there. centre (3,): its centre of area.
        strain_rms, strain_max: over the panel. tightest: least radius of bend, mm, and
            tightest_at its place along the flat panel, mm from its fore end.
    """

    name: str
    lower: Array
    upper: Array
    inner_lower: Array
    inner_upper: Array
    outer_lower: Array
    outer_upper: Array
    grid: Array
    strain: Array
    centre: Array
    strain_rms: float
    strain_max: float
    tightest: float
    tightest_at: float


@dataclass(frozen=True)
class SeamOpening:
    """What a seam leaves open: the largest gap, mm, its place along the seam from the bow, and
    the share of it that lies along the seam (an edge too long) rather than across it."""

    name: str
    gap: float
    at: float
    along: float


@dataclass(frozen=True, eq=False)
class PieceFit:
    """A piece in its place: x and z of its origin, mm, and its lean aft, rad; what its landings
    leave open, mm; and how much wider than the hull without it the piece is on each side, mm,
    where that was worked out (None otherwise)."""

    name: str
    x: float
    z: float
    lean: float
    gap: float
    wider: float | None = None


@dataclass(frozen=True)
class SoftWidth:
    """A place along the sheer whose width the parts hardly hold: share of its length from the
    bow, its half-breadth inside the plywood, mm, what 50 N moves it by, mm, and the point on the
    flat panel, mm."""

    share: float
    half_breadth: float
    gives: float
    at: StickEnd


@dataclass(frozen=True)
class SpreaderFit:
    """A stick in its place: its length and the place (x, y, z) of its end a, mm, and about what
    it pushes with at each end, N (negative: it is pulled, and holds its ends together)."""

    name: str
    length: float
    place: tuple[float, float, float]
    push: float


@dataclass(frozen=True, eq=False)
class Sprung:
    """The boat that flat panels make when they are sprung together.

    Axes as everywhere (x aft, y starboard, z up): frames between the ends stand plumb, the
    foremost point is at x = 0 and the lowest on the baseline.

    Attributes:
        misfit: the sum of squares left, mm2, with firm ties (small where the parts fit).
        agreed: whether several guesses of how the panels stand led to this shape.
    """

    panels: tuple[SprungPanel, ...]
    seams: tuple[SeamOpening, ...]
    pieces: tuple[PieceFit, ...]
    soft: tuple[SoftWidth, ...]
    misfit: float
    agreed: bool
    spreaders: tuple[SpreaderFit, ...] = ()

    @property
    def largest_gap(self) -> float:
        """The widest gap along a seam or at a frame, mm."""
        gaps = [seam.gap for seam in self.seams] + [piece.gap for piece in self.pieces]
        return max(gaps, default=0.0)

    def panel(self, name: str) -> SprungPanel:
        """The panel of that name (KeyError if there is none)."""
        for panel in self.panels:
            if panel.name == name:
                return panel
        raise KeyError(name)
