"""How a plank's developed panel lies on its flat part: edges named, halves joined."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lofting import tolerances
from lofting.findings import Finding, Severity
from lofting.framing.outlines import Outline, from_runs
from lofting.planking import Plank, Planking

Array = NDArray[np.float64]


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


def turns(planking: Planking, line: str) -> str:
    """What a corner within an edge is called: lines have knuckles, and the hidden edge of a lap
    comes from the stem to its own breadth."""
    return f"{line} knuckle" if planking.seam_split(line) is None else f"{line}, end of its lap"


def panel_runs(planking: Planking, plank: Plank) -> list[tuple[str, str, Array]]:
    """The starboard panel's edges anticlockwise on the flat, from the lower edge's fore end:
    (name of the corner it starts at, name of the edge, flat points)."""
    spec = plank.spec
    stem_end, stern_start = upper_span(plank)
    fore, aft = end_names(planking)
    runs: list[tuple[str, str, Array]] = []
    first, last = plank.lower_line.start, plank.lower_line.stop - 1
    for a, b in spans((*plank.lower_corner, first, last), len(plank.lower)):
        points = plank.flat_lower[a : b + 1]
        if b <= first:
            runs.append((f"{spec.upper}, fore end", fore, points))
        elif a >= last:
            runs.append((f"{spec.lower}, after end", aft, points))
        else:
            corner = f"{spec.lower}, fore end" if a == first else turns(planking, spec.lower)
            runs.append((corner, "lower edge", points))
    # Where a stem ends in the upper line's end, this piece has no length.
    low_aft = last < len(plank.lower) - 1
    end = f"{spec.upper if low_aft else spec.lower}, after end"
    runs.append((end, aft, np.array([plank.flat_lower[-1], plank.flat_upper[-1]])))
    for a, b in reversed(spans(plank.upper_corner, len(plank.upper))):
        points = plank.flat_upper[a : b + 1][::-1]
        if a >= stern_start and stern_start < len(plank.upper) - 1:
            corner, edge = f"{spec.lower}, after end", aft
        elif b <= stem_end:
            corner, edge = f"{spec.upper}, fore end", fore
        else:
            after = b == stern_start
            corner = f"{spec.upper}, after end" if after else turns(planking, spec.upper)
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
