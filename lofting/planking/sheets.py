"""What shares the points of one edge of a plank, side by side: the edge drawn, its tangents and
normals, the panel's own edge at mid-thickness, its bearing and corner lines, and the flat."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lofting.planking.trimming import along
from lofting.vectors import unit

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

WIDTH = 20


@dataclass(frozen=True, eq=False)
class Sheets:
    """table: (n, WIDTH), six vectors in space and the flat point of every edge point, mm."""

    table: Array

    @staticmethod
    def of(
        points: Array,
        tangents: Array,
        normals: Array,
        mid: Array,
        inner: Array,
        corner: Array,
        flat: Array,
    ) -> "Sheets":
        """From (n, 3) arrays and the flat (n, 2)."""
        return Sheets(np.hstack([points, tangents, normals, mid, inner, corner, flat]))

    def __len__(self) -> int:
        return len(self.table)

    @property
    def points(self) -> Array:
        """(n, 3) the edge as drawn."""
        return self.table[:, 0:3]

    @property
    def tangents(self) -> Array:
        """(n, 3) its unit direction aft."""
        return unit(self.table[:, 3:6])

    @property
    def normals(self) -> Array:
        """(n, 3) unit normals of the surface, out of the boat."""
        return unit(self.table[:, 6:9])

    @property
    def mid(self) -> Array:
        """(n, 3) the panel's edge at mid-thickness."""
        return self.table[:, 9:12]

    @property
    def inner(self) -> Array:
        """(n, 3) where the inside face ends."""
        return self.table[:, 12:15]

    @property
    def corner(self) -> Array:
        """(n, 3) the corner line shared with a neighbour."""
        return self.table[:, 15:18]

    @property
    def flat(self) -> Array:
        """(n, 2) the edge on the flat panel."""
        return self.table[:, 18:20]

    def rows(self, which: slice | Indices | NDArray[np.bool_]) -> "Sheets":
        """Some of the points."""
        return Sheets(self.table[which])

    def followed_by(self, other: "Sheets") -> "Sheets":
        """These points and then others."""
        return Sheets(np.vstack([self.table, other.table]))

    def mixed(self, other: "Sheets", share: Array) -> "Sheets":
        """The points at a share (n,) of the way to others."""
        return Sheets(self.table + share[:, None] * (other.table - self.table))

    def with_point(self, after: int, share: float) -> "Sheets":
        """A point put in at a share of the piece that follows point `after`."""
        middle = self.table[after] + share * (self.table[after + 1] - self.table[after])
        return Sheets(np.insert(self.table, after + 1, middle, axis=0))

    def put(self, start: int, other: "Sheets") -> "Sheets":
        """Other points in the place of those from `start` on."""
        table = self.table.copy()
        table[start : start + len(other)] = other.table
        return Sheets(table)

    def with_panel(self, mid: Array, inner: Array, flat: Array) -> "Sheets":
        """The same edge with the panel's edge and the end of its inside face elsewhere."""
        table = self.table.copy()
        table[:, 9:12], table[:, 12:15], table[:, 18:20] = mid, inner, flat
        return Sheets(table)

    def with_corner(self, corner: Array) -> "Sheets":
        """The same edge with another line shared with its neighbour."""
        table = self.table.copy()
        table[:, 15:18] = corner
        return Sheets(table)

    def with_tangents(self) -> "Sheets":
        """Tangents taken from the points themselves."""
        reach = along(self.points)
        distinct = np.concatenate([[True], np.diff(reach) > 1e-9])
        slope = np.gradient(self.points[distinct], reach[distinct], axis=0)
        table = self.table.copy()
        table[:, 3:6] = np.column_stack([np.interp(reach, reach[distinct], c) for c in slope.T])
        return Sheets(table)
