"""What the planking stage takes and gives: specifications, planks, seams."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.bending import BendReport
from lofting.fairing import Lines
from lofting.findings import Finding

Array = NDArray[np.float64]


class Corner(StrEnum):
    """How two planks meet along a long line."""

    INNER = "inner corners touch"
    OUTER = "outer corners touch"
    UPPER_LAPS = "upper plank laps the lower"
    LOWER_LAPS = "lower plank laps the upper"


@dataclass(frozen=True)
class PlankSpec:
    """A plank between two neighbouring long lines.

    Attributes:
        lower, upper: names of the long lines; thickness in mm; material: key of a plywood.
        whole: made in one piece across the centreline (a flat bottom), else a pair.
    """

    name: str
    lower: str
    upper: str
    thickness: float
    material: str
    whole: bool = False


@dataclass(frozen=True)
class PlankingSettings:
    """All planks and how they meet; corners as (line name, Corner), INNER where not named."""

    planks: tuple[PlankSpec, ...]
    corners: tuple[tuple[str, Corner], ...] = ()
    samples: int = 200
    twist_limit: float = 0.0523598776  # 3 degrees

    def corner(self, line: str) -> Corner:
        """How planks meet along that line."""
        return dict(self.corners).get(line, Corner.INNER)


@dataclass(frozen=True, eq=False)
class Plank:
    """One plank (starboard side), bow first in every array, mm.

    The three sheets of the surface share the indices of `lower` and `upper`: drawn, mid
    (mid-thickness, trimmed for the joints), inner (the inside face, where frames bear).

    Attributes:
        lower (n, 3), upper (m, 3): edges on the surface the lines are drawn to. The upper chain
            begins with the stem curve where the boat has one.
        lower_corner, upper_corner: indices into lower and upper of true corners (ends included).
        rulings: (k, 2) index pairs in order; triangles follow from them.
        lower_normals (n, 3), upper_normals (m, 3): unit, pointing out of the boat.
        mid_lower, mid_upper: (n, 3), (m, 3) the panel's own edges at mid-thickness.
        inner_lower, inner_upper: (n, 3), (m, 3) where the inner face meets its neighbour's.
        flat_lower (n, 2), flat_upper (m, 2): the panel developed, length along +x, bow at left,
            lower edge below.
        twist: (k,) rad per ruling. position: (k,) x of each ruling's middle on the flat panel.
        area: m2 of one panel at mid-thickness. strain: largest strain if flattened by least
            strain, 0 when unrolled exactly.
        line_start, line_stop: upper[line_start:line_stop] is the upper long line itself, point
            for point as the plank above has it in `lower`; the rest runs along the stem.
        strain_along: (k,) largest size of strain in the panel's plane beside each ruling.
        outside_fans: (k,) true where a ruling lies clear of the fans at the plank's ends.

    Laid out like this a starboard panel shows its inside face, a port panel its outside face.
    """

    spec: PlankSpec
    lower: Array
    upper: Array
    lower_corner: tuple[int, ...]
    upper_corner: tuple[int, ...]
    rulings: NDArray[np.intp]
    lower_normals: Array
    upper_normals: Array
    mid_lower: Array
    mid_upper: Array
    inner_lower: Array
    inner_upper: Array
    flat_lower: Array
    flat_upper: Array
    twist: Array
    position: Array
    bend: BendReport
    area: float
    strain: float = 0.0
    findings: tuple[Finding, ...] = field(default=())
    line_start: int = 0
    line_stop: int = 0
    outside_fans: NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, dtype=bool))
    strain_along: Array = field(default_factory=lambda: np.empty(0))

    def triangles(self) -> NDArray[np.intp]:
        """(k - 1, 3) indices into the stacked vertices [lower; upper]; outward on starboard."""
        before, after = self.rulings[:-1], self.rulings[1:]
        count = len(self.lower)
        moved_lower = after[:, 0] > before[:, 0]
        third = np.where(moved_lower, after[:, 0], count + after[:, 1])
        return np.column_stack([before[:, 0], count + before[:, 1], third])


@dataclass(frozen=True, eq=False)
class Seam:
    """Two edges that meet, compared.

    Attributes:
        a, b: names like "bottom upper edge", "side lower edge".
        length_a, length_b: flat lengths, mm. by_thickness: how much of their difference is due
            to thickness alone. difference: what is left, referred to the corner line they share.
        along (n,), gap_run (n,): length along the corner line from the bow and the running
            difference there (error part only).
    """

    line: str
    a: str
    b: str
    length_a: float
    length_b: float
    by_thickness: float
    difference: float
    along: Array
    gap_run: Array


@dataclass(frozen=True, eq=False)
class Planking:
    """All planks of one side and what was noticed."""

    planks: tuple[Plank, ...]
    seams: tuple[Seam, ...]
    lines: Lines
    settings: PlankingSettings
    findings: tuple[Finding, ...] = field(default=())

    def plank(self, name: str) -> Plank:
        """The plank of that name; KeyError if there is none."""
        for plank in self.planks:
            if plank.spec.name == name:
                return plank
        raise KeyError(name)
