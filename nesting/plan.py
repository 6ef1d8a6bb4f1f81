"""Laying all parts on the fewest sheets: groupings of sheets into blanks, search, best so far."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from lofting.findings import Finding
from lofting.parts import FlatPart
from lofting.progress import SILENT, Progress
from nesting.stock import JoiningRules, Sheet


@dataclass(frozen=True)
class Placement:
    """Where one copy of a part lies on its blank.

    A point p of the part's own axes goes to: mirror (y -> -y) if mirrored, then turn by
    rotation (rad, anticlockwise), then move by (x, y) mm. Blank axes: x along its length from the
    datum end, y across from the datum edge.
    """

    part: str
    copy: int
    x: float
    y: float
    rotation: float
    mirrored: bool
    pinned: bool = False


@dataclass(frozen=True)
class Joint:
    """A joint across a blank: start..end in mm along it (both feather edges)."""

    start: float
    end: float


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
    """A joint on a part: both feather edges in the part's own x, mm."""

    part: str
    copy: int
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
        seconds: time used.
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


def lay_out(
    parts: Sequence[FlatPart],
    stock: Sequence[Sheet],
    rules: JoiningRules,
    effort: Effort,
    *,
    pinned: Sequence[tuple[str, Placement]] = (),
    progress: Progress = SILENT,
) -> Nest:
    """Lay all parts on joined sheets. `pinned` are (blank name, placement) that must stay.

    progress.payload receives each better Nest as it is found.
    """
    raise NotImplementedError
