"""Mating edges of flat panels compared: length over all, and bay by bay between what both carry.

Two edges that are sewn together must be of one length in every bay; a difference in one bay
tells where the slip is (common practice, no source).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.battens import Batten
from lofting.findings import Finding, Severity
from lofting.tolerances import SEAM

Array = NDArray[np.float64]

FINE = 2000
"""Points an edge is measured with: chords of 2 mm fall short by nothing to speak of."""


@dataclass(frozen=True, eq=False)
class EdgeSeam:
    """Two edges compared, mm.

    Attributes:
        a, b: names of the edges. length_a, length_b: lengths from end to end.
        difference: length_b - length_a. marks: labels of the places both carry, ends included.
        along (n,): length along a at each mark; gap_run (n,): length along b less along a there.
    """

    name: str
    a: str
    b: str
    length_a: float
    length_b: float
    difference: float
    marks: tuple[str, ...]
    along: Array
    gap_run: Array


def arc_at(batten: Batten, xs: Array) -> Array:
    """Length along an edge from its fore end to where it passes x, for each x: (n,) mm."""
    _, points = batten.by_length(FINE)
    steps = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    return np.interp(xs, points[:, 0], steps)


def compare_edges(
    name: str,
    a: tuple[str, Batten, dict[str, float]],
    b: tuple[str, Batten, dict[str, float]],
) -> EdgeSeam:
    """Compare two edges: each as (name, batten, x of the landings it carries by label)."""
    shared = sorted(set(a[2]) & set(b[2]), key=lambda label: a[2][label])
    runs = []
    for _, batten, places in (a, b):
        inner = arc_at(batten, np.array([places[label] for label in shared]))
        runs.append(np.concatenate([[0.0], inner, [batten.length()]]))
    return EdgeSeam(
        name,
        a[0],
        b[0],
        float(runs[0][-1]),
        float(runs[1][-1]),
        float(runs[1][-1] - runs[0][-1]),
        ("fore end", *shared, "after end"),
        runs[0],
        runs[1] - runs[0],
    )


def seam_findings(seams: tuple[EdgeSeam, ...]) -> tuple[Finding, ...]:
    """A finding for each seam whose edges differ, naming the bay where most of it lies."""
    found = []
    for seam in seams:
        bays = np.diff(seam.gap_run)
        worst = int(np.argmax(np.abs(bays)))
        if max(abs(seam.difference), float(np.abs(bays[worst]))) <= SEAM:
            continue
        gap = float(bays[worst])
        longer, amount = (seam.b if gap > 0 else seam.a), abs(gap)
        found.append(
            Finding(
                Severity.STOP if amount > 5 * SEAM else Severity.LOOK,
                "seam-mismatch",
                {"seam": seam.name, "from": seam.marks[worst], "to": seam.marks[worst + 1]},
                f"{longer} is {amount:.1f} mm too long between {seam.marks[worst]} and "
                f"{seam.marks[worst + 1]}; over all the edges differ by "
                f"{abs(seam.difference):.1f} mm.",
                "Check the figures of both edges there, and the places of the marks.",
            )
        )
    return tuple(found)
