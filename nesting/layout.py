"""A layout as a value: blanks, joints, where every part lies, and what it was measured against."""

from dataclasses import dataclass, field
from math import cos, sin

import numpy as np
from numpy.typing import NDArray

from lofting.findings import Finding
from lofting.parts import FlatPart

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Placement:
    """Where one copy of a part lies on its blank.

    A point p of the part's own axes goes to: mirror (y -> -y) if mirrored, then turn by
    rotation (rad, anticlockwise), then move by (x, y) mm. Blank axes: x along its length from the
    datum end, y across from the datum edge.

    Of a handed part, copies 0, 2, 4 ... are the starboard ones and 1, 3, 5 ... the port ones. A
    starboard copy lies outer face up when not mirrored, a port copy when mirrored.
    """

    part: str
    copy: int
    x: float
    y: float
    rotation: float
    mirrored: bool
    pinned: bool = False

    def matrix(self) -> Array:
        """(2, 2) the linear part of the placing: columns are the images of the part's axes."""
        c, s = cos(self.rotation), sin(self.rotation)
        hand = -1.0 if self.mirrored else 1.0
        return np.array([[c, -s * hand], [s, c * hand]])

    def lay(self, points: Array) -> Array:
        """Points (n, 2) of the part's own axes in blank axes, mm."""
        return points @ self.matrix().T + (self.x, self.y)


@dataclass(frozen=True)
class Joint:
    """A joint across a blank: start..end in mm along it (both feather edges).

    Attributes:
        feather: x of the feather edge seen on the upper face; the one on the lower face is at
            the other end. A butt joint has start == end and no feather edge.
    """

    start: float
    end: float
    feather: float | None = None


@dataclass(frozen=True)
class Blank:
    """A blank of one or more sheets joined end to end, with the parts that lie on it."""

    name: str
    material: str
    thickness: float
    sheets: int
    sheet_length: float
    length: float
    width: float
    joints: tuple[Joint, ...]
    placements: tuple[Placement, ...]


@dataclass(frozen=True)
class Effort:
    """How hard to try: seconds at most, tries counted with a seed so that runs agree."""

    seconds: float = 10.0
    tries: int = 400
    seed: int = 1


@dataclass(frozen=True)
class PartJoint:
    """A joint on a part: both feather edges in the part's own x, mm.

    Attributes:
        outside: x of the feather edge on the part's outer face, None for a butt joint.
        aft: that edge is the after one, so water and sand run off it.
    """

    part: str
    copy: int
    start: float
    end: float
    outside: float | None = None
    aft: bool = True


@dataclass(frozen=True)
class Cut:
    """A piece of a part cut from one sheet: the stretch start..end of the part's x, scarfs
    included, is made as the (extra) part named `piece`."""

    piece: str
    part: str
    start: float
    end: float


@dataclass(frozen=True)
class Bound:
    """The least number of sheets that could possibly do, and the sentence why."""

    sheets: int
    reason: str


@dataclass(frozen=True)
class Nest:
    """A layout of all parts, verified.

    Attributes:
        bound: over all kinds of sheet; reached: a sentence why one fewer was impossible or not
            found. utilisation: area of parts over area of sheets, 0..1.
        joint_metres: length of joints across blanks; glued_area m2.
        seconds: time used. cost: price of the sheets.
        extra_parts: parts made by the way of joining (pieces of long parts, butt straps); they
            are placed like others, so whoever looks a placed part up needs them too.
        cuts: which extra part is what stretch of which part; a part that was cut lies nowhere
            itself, its joints are in part_joints.
        unplaced: names of parts that lie nowhere (each has a finding), one a copy.
    """

    blanks: tuple[Blank, ...]
    part_joints: tuple[PartJoint, ...]
    sheets: int
    bound: Bound
    reached: str
    utilisation: float
    joint_metres: float
    glued_area: float
    seconds: float
    findings: tuple[Finding, ...] = field(default=())
    extra_parts: tuple[FlatPart, ...] = field(default=())
    cuts: tuple[Cut, ...] = field(default=())
    unplaced: tuple[str, ...] = field(default=())
    cost: float = 0.0

    @property
    def joint_count(self) -> int:
        """Joints to make: across blanks, and between the pieces of parts that were cut up."""
        pieced = {cut.part for cut in self.cuts}
        on_pieces = sum(joint.part in pieced for joint in self.part_joints)
        return sum(len(blank.joints) for blank in self.blanks) + on_pieces
