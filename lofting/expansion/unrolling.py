"""Unrolling a ruled strip flat, every edge length kept, and laying it lengthwise."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from lofting.findings import Refused
from lofting.rulings import find_rulings
from lofting.vectors import cross, lengths

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FlatStrip:
    """A strip unrolled: edge_a (n, 2), edge_b (m, 2) in mm, rulings (k, 2) index pairs."""

    edge_a: Array
    edge_b: Array
    rulings: NDArray[np.intp]

    def outline(self) -> Array:
        """The closed ring (n + m or fewer, 2), anticlockwise: along edge_a, back along edge_b."""
        back = self.edge_b[::-1]
        if np.allclose(back[0], self.edge_a[-1], atol=1e-9):
            back = back[1:]
        if len(back) and np.allclose(back[-1], self.edge_a[0], atol=1e-9):
            back = back[:-1]
        return np.concatenate([self.edge_a, back])

    def area(self) -> float:
        """Area between the edges, mm2."""
        x, y = self.outline().T
        return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def expand_strip(
    edge_a: Array, edge_b: Array, rulings: NDArray[np.intp] | None = None
) -> FlatStrip:
    """Unroll the strip between edges (n, 3) and (m, 3); rulings are searched unless given.

    Every triangle between two rulings keeps its three lengths, so edges and rulings are as long
    flat as in space. The flat strip lies with its length along +x, edge_a below edge_b, turned
    so that it is as narrow as can be, with its lowest x and y at 0. All lengths mm.

    Each step turns the ruling about the point that stays by the triangle's angle there; the
    turns add up to the flat direction of every ruling, and the edges follow from the rulings.

    Raises:
        Refused: an edge with fewer than two points, or rulings that do not fit the edges.
    """
    a = np.asarray(edge_a, dtype=float)
    b = np.asarray(edge_b, dtype=float)
    pairs = find_rulings(a, b) if rulings is None else np.asarray(rulings, dtype=np.intp)
    step = np.diff(pairs, axis=0)
    if (
        len(pairs) != len(a) + len(b) - 1
        or np.any(pairs[0] != 0)
        or np.any(step < 0)
        or np.any(step.sum(axis=1) != 1)
    ):
        raise Refused("rulings", "The rulings do not fit the edges.", "Search them again.")
    ruling = b[pairs[:, 1]] - a[pairs[:, 0]]
    length = lengths(ruling)
    crossed = lengths(cross(ruling[:-1], ruling[1:]))
    dot = np.einsum("kc,kc->k", ruling[:-1], ruling[1:])
    moved_a = step[:, 0] == 1
    turn = np.arctan2(crossed, dot) * np.where(moved_a, 1.0, -1.0)
    # At a pointed end the first or last ruling has no length and no direction to turn.
    turn[(length[:-1] == 0) | (length[1:] == 0)] = 0.0
    direction = np.concatenate([[0.5 * np.pi], 0.5 * np.pi + np.cumsum(turn)])
    flat = length * np.exp(1j * direction)
    change = np.diff(flat)
    flat_a = np.concatenate([[0.0], np.cumsum(-change[moved_a])])
    flat_b = flat[0] + np.concatenate([[0.0], np.cumsum(change[~moved_a])])
    turned = lengthwise(flat_a, flat_b)
    return FlatStrip(*turned, pairs)


def lengthwise(
    flat_a: NDArray[np.complex128], flat_b: NDArray[np.complex128]
) -> tuple[Array, Array]:
    """Turn a flat strip (complex x + iy) so that its length lies along +x, as narrow as can be.

    Of the directions along a side of the convex hull the one of least width within 45 degrees
    of the chord from end to end is taken; lowest x and y become 0.
    """
    every = np.concatenate([flat_a, flat_b])
    chord = 0.5 * (flat_a[-1] + flat_b[-1] - flat_a[0] - flat_b[0])
    if abs(chord) == 0:
        chord = flat_a[-1] - flat_a[0]
    chord = chord / abs(chord) if abs(chord) > 0 else 1.0 + 0j
    hull = shapely.get_coordinates(
        shapely.convex_hull(shapely.multipoints(np.column_stack([every.real, every.imag])))
    )
    corner = hull[:, 0] + 1j * hull[:, 1]
    side = np.diff(corner)
    side = side[np.abs(side) > 0]
    side = side / np.abs(side)
    near = np.abs((side / chord).real) >= np.sqrt(0.5)
    side = np.where((side / chord).real < 0, -side, side)[near]
    if len(side) == 0:
        side = np.array([chord])
    across = (corner[None, :] / side[:, None]).imag
    best = side[int(np.argmin(np.ptp(across, axis=1)))]
    every = every / best
    every = every - (every.real.min() + 1j * every.imag.min())
    flat = np.column_stack([every.real, every.imag])
    return flat[: len(flat_a)], flat[len(flat_a) :]


def on_baseline(flat: FlatStrip) -> FlatStrip:
    """The strip turned so that edge_a runs along y = 0 from its first to its last point, x >= 0.

    For a panel made whole across the centreline: edge_a is the axis it is mirrored in.
    """
    a = flat.edge_a[:, 0] + 1j * flat.edge_a[:, 1]
    b = flat.edge_b[:, 0] + 1j * flat.edge_b[:, 1]
    chord = a[-1] - a[0]
    if abs(chord) == 0:
        return flat
    turn = abs(chord) / chord
    origin = a[0]
    a, b = (a - origin) * turn, (b - origin) * turn
    left = min(a.real.min(), b.real.min())
    return FlatStrip(
        np.column_stack([a.real - left, a.imag]),
        np.column_stack([b.real - left, b.imag]),
        flat.rulings,
    )
