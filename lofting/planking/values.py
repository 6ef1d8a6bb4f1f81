"""What the planking stage takes and gives: specifications, planks, seams."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lofting.battens import spring
from lofting.bending import BendReport
from lofting.fairing import Lines
from lofting.findings import Finding

Array = NDArray[np.float64]


SEAM_POINTS = 16
"""Points of a seam within a plank that a batten along it is sprung through."""


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


class SeamRun(StrEnum):
    """How a seam within a plank runs on its flat panel."""

    BETWEEN = "between the edges"
    STRAIGHT = "straight"
    SPRUNG = "sprung through three points"


class SplitJoint(StrEnum):
    """How the two strakes of a split plank meet."""

    BUTTED = "butted on a seam batten"
    UPPER_LAPS = "upper strake laps the lower"
    LOWER_LAPS = "lower strake laps the upper"


@dataclass(frozen=True)
class PlankSplit:
    """A plank, or a strake of one that was split before, split lengthwise.

    Attributes:
        plank: its name. stem, middle, transom: shares of its breadth, from the lower edge, at
            which the seam begins, passes the middle of its length and ends, each in 0..1; with a
            straight run the middle does not count. All 0 on a plank made whole: split on the
            centreline.
        lap: breadth of a lap, mm. seam, below, above: names of the seam's line and of the two
            strakes; made from the plank's where empty.
        batten_width, batten_thickness: section of the seam batten inside a butted seam, mm.
    """

    plank: str
    stem: float = 0.5
    middle: float = 0.5
    transom: float = 0.5
    run: SeamRun = SeamRun.BETWEEN
    joint: SplitJoint = SplitJoint.BUTTED
    lap: float = 20.0
    seam: str = ""
    below: str = ""
    above: str = ""
    batten_width: float = 40.0
    batten_thickness: float = 9.0

    def __post_init__(self) -> None:
        named = (
            ("seam", f"{self.plank} seam"),
            ("below", f"{self.plank} lower strake"),
            ("above", f"{self.plank} upper strake"),
        )
        for field_name, word in named:
            if not getattr(self, field_name):
                object.__setattr__(self, field_name, word)

    @property
    def on_centre(self) -> bool:
        """Whether it asks for a plank made whole to be split on the centreline."""
        return max(self.stem, self.middle, self.transom) <= 0.0


@dataclass(frozen=True)
class PlankingSettings:
    """All planks and how they meet; corners as (line name, Corner), INNER where not named; splits
    in the order in which they are made."""

    planks: tuple[PlankSpec, ...]
    corners: tuple[tuple[str, Corner], ...] = ()
    samples: int = 200
    twist_limit: float = 0.0523598776  # 3 degrees
    splits: tuple[PlankSplit, ...] = ()

    def corner(self, line: str) -> Corner:
        """How planks meet along that line."""
        return dict(self.corners).get(line, Corner.INNER)


@dataclass(frozen=True, eq=False)
class Plank:
    """One plank (starboard side), bow first in every array, mm.

    The three sheets of the surface share the indices of `lower` and `upper`: drawn, mid
    (mid-thickness, trimmed for the joints), inner (the inside face, where frames bear).

    Attributes:
        lower (n, 3), upper (m, 3): edges on the surface the lines are drawn to. One of the two
            begins with the stem curve where the boat has one.
        lower_corner, upper_corner: indices into lower and upper of true corners (ends included).
        rulings: (k, 2) index pairs in order; triangles follow from them.
        lower_normals (n, 3), upper_normals (m, 3): unit, pointing out of the boat.
        mid_lower, mid_upper: (n, 3), (m, 3) the panel's own edges at mid-thickness.
        inner_lower, inner_upper: (n, 3), (m, 3) where the inner face meets its neighbour's.
        face_lower, face_upper: (n, 3), (m, 3) the inside arrises of the panel's own square edges.
        flat_lower (n, 2), flat_upper (m, 2): the panel developed, length along +x, bow at left,
            lower edge below.
        twist: (k,) rad, at each ruling the least with which one can run there. position: (k,) x of
            each ruling's middle on the flat panel.
        area: m2 of one panel at mid-thickness. strain: largest strain if flattened by least
            strain, 0 when unrolled exactly.
        line_start, line_stop: upper[line_start:line_stop] is the upper long line itself, point
            for point as the plank above has it in lower[lower_line]; the rest runs along the stem.
        lower_start, lower_stop: the same of the lower edge; a stop of 0 is its end.
        strain_along: (k,) largest size of strain in the panel's plane beside each ruling.
        outside_fans: (k,) true where a ruling lies clear of the fans at the plank's ends.
        let_in: (n,) mm, how deep the lap with another strake of the same plank is let in at each
            point of their seam; empty where the plank was not split with a lap.

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
    face_lower: Array
    face_upper: Array
    strain: float = 0.0
    findings: tuple[Finding, ...] = field(default=())
    line_start: int = 0
    line_stop: int = 0
    lower_start: int = 0
    lower_stop: int = 0
    outside_fans: NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, dtype=bool))
    strain_along: Array = field(default_factory=lambda: np.empty(0))
    let_in: Array = field(default_factory=lambda: np.empty(0))

    @property
    def lower_line(self) -> slice:
        """The lower long line within the lower edge."""
        return slice(self.lower_start, self.lower_stop or len(self.lower))

    @property
    def upper_line(self) -> slice:
        """The upper long line within the upper edge."""
        return slice(self.line_start, self.line_stop or len(self.upper))

    def stem(self, end: int) -> tuple[bool, slice]:
        """Whether the piece of stem at an end (0 the bow, 1 the stern) is part of the lower edge,
        and its points in that or the upper edge, bow first, with the end of the long line that it
        meets there: that point alone where there is no stem."""
        lines = self.lower_line, self.upper_line
        pieces = [
            slice(0, line.start + 1) if end == 0 else slice(line.stop - 1, len(edge))
            for line, edge in zip(lines, (self.lower, self.upper), strict=True)
        ]
        low = pieces[0].stop - pieces[0].start > 1
        return low, pieces[0 if low else 1]

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

    def seam_split(self, line: str) -> PlankSplit | None:
        """The split whose seam a line is, or None for a line of the boat."""
        return next((s for s in self.settings.splits if s.seam == line and not s.on_centre), None)

    def line_points(self, line: str) -> Array:
        """A long line, or the seam of a split plank, in space from the bow: (n, 3) mm.

        Raises:
            KeyError: no such line.
        """
        if self.seam_split(line) is None:
            _, points = self.lines.line(line).batten.by_length(self.settings.samples)
            return points
        for plank in self.planks:
            if plank.spec.lower == line:
                # A batten through some of its points: between rulings the seam runs over facets.
                reach = np.linalg.norm(np.diff(plank.lower, axis=0), axis=1)
                reach = np.concatenate([[0.0], np.cumsum(reach)])
                at = np.searchsorted(reach, np.linspace(0.0, reach[-1], SEAM_POINTS)[:-1])
                chosen = plank.lower[np.unique([*at, len(reach) - 1])]
                return spring(chosen).by_length(self.settings.samples)[1]
        raise KeyError(line)

    def plank(self, name: str) -> Plank:
        """The plank of that name; KeyError if there is none."""
        for plank in self.planks:
            if plank.spec.name == name:
                return plank
        raise KeyError(name)
