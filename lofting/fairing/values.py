"""What fairing is asked and what it hands on: settings, moves, the lines of the boat."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten, End, spring
from lofting.findings import Finding
from lofting.offsets import Face, Role

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FairingSettings:
    """Which lines to fair and how.

    Attributes:
        fair: names of the lines to fair; the rest stay as typed.
        ends: how every batten behaves at its ends.
        eased: let chines move inside their tolerance for the planks' sake too.
    """

    fair: tuple[str, ...] = ()
    ends: End = End.RUN_PAST
    eased: bool = False


@dataclass(frozen=True)
class Move:
    """How far fairing moved one figure, both in mm on the boat's axes.

    coordinate is half_breadth or height, and x for the points of a stem.
    """

    line: str
    point: str
    coordinate: str
    before: float
    after: float

    @property
    def size(self) -> float:
        """How far the figure moved, mm, without sign."""
        return abs(self.after - self.before)


@dataclass(frozen=True, eq=False)
class FairLine:
    """One long line, sprung.

    Attributes:
        labels: the points' labels, blanks left out.
        typed: (n, 3) as read; faired: (n, 3) after fairing; both boat axes, mm.
        before, batten: the battens through typed and faired points (3D).
        tolerances: (n,) mm either way; 0 where the point is pinned.
        inflections_*: changes of sign of curvature, both views together.
        loads_*: (n, 2) batten loads in plan and profile per unit EI, 1/mm2.
        moves: what fairing moved, largest first.
    """

    name: str
    role: Role
    labels: tuple[str, ...]
    typed: Array
    faired: Array
    before: Batten
    batten: Batten
    tolerances: Array
    inflections_before: int
    inflections_after: int
    loads_before: Array
    loads_after: Array
    moves: tuple[Move, ...] = ()

    @property
    def largest_move(self) -> float:
        """The largest move in mm, 0 where nothing moved."""
        return self.moves[0].size if self.moves else 0.0

    def through(self, points: Array) -> "FairLine":
        """A trial of the line through other points (n, 3): its batten alone is sprung anew, what
        is told of moves and inflections stays behind."""
        batten = spring(points, knuckles=self.batten.knuckles, ends=self.batten.ends)
        return replace(self, faired=points, batten=batten)


@dataclass(frozen=True)
class EasedPlank:
    """What easing the lines did for one plank: its largest twist before and after and the twist
    that is little enough, rad."""

    name: str
    before: float
    after: float
    limit: float


@dataclass(frozen=True, eq=False)
class Lines:
    """The boat's lines, keel to sheer, stem last where there is one; `eased` says what easing
    did for the planks, keel to sheer, and is empty where lines were not eased."""

    lines: tuple[FairLine, ...]
    stations: tuple[tuple[str, float], ...]
    drawn_to: Face
    findings: tuple[Finding, ...] = field(default=())
    eased: tuple[EasedPlank, ...] = ()

    def line(self, name: str) -> FairLine:
        """The line of that name; KeyError if there is none."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(name)
