"""Parts laid over each other and driven apart: every part lies somewhere all the time, and what
overlaps is moved until nothing does.

A part that overlaps goes to the place, on any blank and turned in any of its ways, where the
depths beside all others weigh least; pairs that go on overlapping weigh more and more, so that
others give way to them (guided local search for nesting: Egeblad, Nielsen and Odgaard, European
Journal of Operational Research 183, 2007; Umetani and others, International Transactions in
Operational Research 16, 2009). Small overlaps are settled by moving all parts of a blank at once
(`nesting.settling`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lofting.progress import Progress
from nesting.nofit import Shape
from nesting.overlaps import Overlaps, add_depths
from nesting.settling import settle

Array = NDArray[np.float64]

NOTHING = 1e-4
"""mm: depth that is none; a tenth of what the check of layouts allows."""

NEARLY, HARDLY = 30.0, 160.0
"""mm: deepest overlap on a blank up to which it is settled after each sweep, and now and then."""

STEP = 60.0
"""mm that a part may move in one round of settling."""

ROUNDS, MANY_ROUNDS = 2, 6
"""Rounds of settling in a row, and now and then."""

NOW_AND_THEN = 6
"""Sweeps from one thorough settling to the next."""

FEW = 14
"""Parts on a blank up to which all are moved at once."""

PULLS = 8
"""Rounds of drawing parts together."""

HEAVIER = 1.0
"""Share by which the weight of the deepest overlap rises after each sweep."""

HEAVIEST = 1e4
"""Weight beyond which none rises."""

PATIENCE = 60
"""Sweeps without less depth than ever after which some parts are taken up and laid anew."""

TAKEN = 4
"""Parts taken up then."""

LIGHTER = 0.97
"""Weights of pairs that do not overlap fade by so much a sweep."""

SHUNNED = 3.0
"""mm of depth that lying across a joint without need counts as."""


@dataclass(frozen=True, eq=False)
class Choice:
    """One way in which a part may lie on a blank.

    Attributes:
        box: least x, least y, greatest x, greatest y of its datum. stretches: what of that x is
            allowed by the part's own rules; nothing if the part may not lie so at all.
        shunned: what of it is better left.
    """

    shape: Shape
    box: tuple[float, float, float, float]
    stretches: tuple[tuple[float, float], ...]
    shunned: tuple[tuple[float, float], ...] = ()

    def nearest(self, x: float, y: float) -> tuple[float, float]:
        """The allowed place nearest to a place."""
        x = min((min(max(x, a), b) for a, b in self.stretches), key=lambda v: abs(v - x))
        return x, min(max(y, self.box[1]), self.box[3])


class Between(Protocol):
    """Rules between parts that are not of overlap."""

    def closed(
        self, heap: "Heap", part: int, blank: int, way: int
    ) -> list[tuple[float, float, int]]:
        """Stretches (low, high) of x that other parts (their number) forbid a part, lying so."""


class Heap:
    """Parts on blanks, perhaps overlapping.

    Attributes:
        choices: of every part on every blank. blank, way, place: where each lies.
        weights: (n, n) price of a mm of depth of each pair.
    """

    def __init__(
        self,
        choices: Sequence[Sequence[Sequence[Choice]]],
        overlaps: Overlaps,
        random: np.random.Generator,
        fixed: frozenset[int] = frozenset(),
        between: Between | None = None,
        step: float = STEP,
    ) -> None:
        n = len(choices)
        self.choices, self.overlaps, self.random = choices, overlaps, random
        self.fixed, self.between, self.step = fixed, between, step
        self.blanks = len(choices[0]) if n else 0
        self.blank = [-1] * n
        self.way = [0] * n
        self.place = np.zeros((n, 2))
        self.weights = np.ones((n, n))
        self.sweeps = 0
        self._idle, self._least = 0, float("inf")
        self._depths: dict[tuple[int, int], float] = {}
        self._grids: dict[int, NDArray[np.float32]] = {}

    def shape(self, part: int) -> Shape:
        """The shape of a part as it lies."""
        return self.choices[part][self.blank[part]][self.way[part]].shape

    def on(self, blank: int) -> list[int]:
        """Parts on a blank."""
        return [i for i, b in enumerate(self.blank) if b == blank]

    def lay(self, part: int, blank: int, way: int, x: float, y: float) -> None:
        """Put a part somewhere."""
        self.blank[part], self.way[part] = blank, way
        self.place[part] = x, y
        for key in [k for k in self._depths if part in k]:
            del self._depths[key]
        if blank < 0:
            return
        others = [j for j in self.on(blank) if j != part]
        if others:
            shapes = [*(self.shape(j) for j in others), self.shape(part)]
            last = len(others)
            pairs = np.column_stack([np.arange(last), np.full(last, last)])
            depths = self.overlaps.deep(shapes, self.place[[*others, part]], pairs)
            for k in np.flatnonzero(depths > NOTHING).tolist():
                j = others[k]
                self._depths[min(part, j), max(part, j)] = float(depths[k])
        self._see_between(part)

    def _lay_all(self, parts: Sequence[int], places: Array) -> None:
        """Move parts of one blank along it."""
        blank = self.blank[parts[0]]
        self.place[list(parts)] = places
        for key in [k for k in self._depths if k[0] in parts or k[1] in parts]:
            del self._depths[key]
        here = self.on(blank)
        pairs = np.argwhere(np.triu(np.ones((len(here), len(here)), dtype=bool), 1))
        depths = self.overlaps.deep([self.shape(i) for i in here], self.place[here], pairs)
        for k in np.flatnonzero(depths > NOTHING).tolist():
            i, j = pairs[k].tolist()
            self._depths[here[i], here[j]] = float(depths[k])
        for part in parts:
            self._see_between(part)

    def _see_between(self, part: int) -> None:
        """Count what the rules between parts say as depth."""
        if self.between is None:
            return
        x, blank, way = float(self.place[part, 0]), self.blank[part], self.way[part]
        for low, high, j in self.between.closed(self, part, blank, way):
            depth = min(x - low, high - x)
            if depth > NOTHING and j != part:
                key = (min(part, j), max(part, j))
                self._depths[key] = max(self._depths.get(key, 0.0), depth)

    def total(self) -> float:
        """Depth of all overlaps, mm."""
        return sum(self._depths.values())

    def deep(self) -> dict[tuple[int, int], float]:
        """Depth of every pair that overlaps."""
        return dict(self._depths)

    def best_place(self, part: int) -> tuple[float, int, int, float, float] | None:
        """Where a part's weighted depth is least: (depth, blank, way, x, y)."""
        best: tuple[float, int, int, float, float] | None = None
        cell = self.overlaps.cell
        # the grid shifted a little each time, so that no place is missed for ever
        sx, sy = ((float(v) - 0.5) * cell for v in self.random.random(2))
        for blank in range(self.blanks):
            others = [j for j in self.on(blank) if j != part]
            for way, choice in enumerate(self.choices[part][blank]):
                if not choice.stretches:
                    continue
                grid = self._grid(part, blank, way).copy()
                x0, y0 = choice.box[0] + sx, choice.box[1] + sy
                for j in others:
                    add_depths(
                        grid,
                        self.overlaps.depths(self.shape(j), choice.shape),
                        float(self.weights[part, j]),
                        x0 - float(self.place[j, 0]),
                        y0 - float(self.place[j, 1]),
                        cell,
                    )
                if self.between is not None:
                    xs = x0 + cell * np.arange(grid.shape[0])
                    for low, high, j in self.between.closed(self, part, blank, way):
                        into = np.minimum(xs - low, high - xs) * self.weights[part, j]
                        grid += np.maximum(into, 0.0).astype(np.float32)[:, None]
                at = int(np.argmin(grid))
                value = float(grid.flat[at])
                if best is None or value < best[0]:
                    i, j = divmod(at, grid.shape[1])
                    x, y = choice.nearest(x0 + i * cell, y0 + j * cell)
                    best = (value, blank, way, x, y)
        return best

    def _grid(self, part: int, blank: int, way: int) -> NDArray[np.float32]:
        """What every place of a choice costs by itself: endless where it is not allowed; places
        near the datum end and edge are liked a hair better."""
        choice, cell = self.choices[part][blank][way], self.overlaps.cell
        grid = self._grids.get(id(choice))
        if grid is None:
            x0, y0, x1, y1 = choice.box
            nx, ny = floor((x1 - x0) / cell + 0.999) + 1, floor((y1 - y0) / cell + 0.999) + 1
            xs, ys = x0 + cell * np.arange(nx), y0 + cell * np.arange(ny)
            along = np.full(nx, np.inf)
            for a, b in choice.stretches:
                near = (xs + cell / 2 >= a) & (xs - cell / 2 <= b)
                along[near] = 1e-4 * xs[near]
            for a, b in choice.shunned:
                along[(xs > a) & (xs < b)] += SHUNNED
            grid = (along[:, None] + 1e-4 * ys[None, :]).astype(np.float32)
            self._grids[id(choice)] = grid
        return grid

    def sweep(self, progress: Progress) -> bool:
        """Move every part that overlaps, settle what is nearly apart, weigh anew; True if nothing
        overlaps any more."""
        self.sweeps += 1
        moving = sorted({i for pair in self._depths for i in pair} - self.fixed)
        for k in self.random.permutation(len(moving)):
            part = moving[int(k)]
            if not any(part in pair for pair in self._depths):
                continue
            progress.check()
            best = self.best_place(part)
            if best is not None:
                self.lay(part, *best[1:])
        for blank in range(self.blanks):
            self.settle(blank, progress)
        if not self._depths:
            return True
        deepest = max(self._depths.values())
        total = self.total()
        self._idle += 1
        if total < self._least - NOTHING:
            self._least, self._idle = total, 0
        elif self._idle >= PATIENCE:
            self.take_up()
            return not self._depths
        self.weights = np.maximum(1.0, self.weights * LIGHTER)
        for (i, j), depth in self._depths.items():
            heavier = self.weights[i, j] / LIGHTER * (1.0 + HEAVIER * depth / deepest)
            self.weights[i, j] = self.weights[j, i] = min(heavier, HEAVIEST)
        return False

    def take_up(self) -> None:
        """Take some parts up, two that overlap among them, and lay them anew in another order;
        nothing weighs more than anything else again."""
        self._idle, self._least = 0, float("inf")
        self.weights[:] = 1.0
        pairs = sorted(self._depths)
        loose = [i for i in range(len(self.blank)) if i not in self.fixed]
        taken = set(pairs[int(self.random.integers(len(pairs)))]) - self.fixed
        order = [int(k) for k in self.random.permutation(len(loose))]
        for k in order:
            if len(taken) < TAKEN:
                taken.add(loose[k])
        for i in sorted(taken):
            self.lay(i, -1, 0, 0.0, 0.0)
        for k in order:
            if loose[k] in taken:
                best = self.best_place(loose[k])
                assert best is not None
                self.lay(loose[k], *best[1:])

    def settle(self, blank: int, progress: Progress) -> None:
        """Drive the parts of a blank apart where they nearly are."""
        step = self.step
        thorough = self.sweeps % NOW_AND_THEN == 0
        for _ in range(MANY_ROUNDS if thorough else ROUNDS):
            deep = self._deep_on(blank)
            if not deep or max(deep.values()) > (HARDLY if thorough else NEARLY):
                return
            here, held = self._around(blank, {i for pair in deep for i in pair})
            progress.check()
            before = sum(deep[k] * self.weights[k] for k in deep)
            limits = np.array([self._limits(i, held=i in held) for i in here])
            number = {i: k for k, i in enumerate(here)}
            moved = settle(
                [self.shape(i) for i in here],
                self.place[here],
                limits,
                self.weights[np.ix_(here, here)],
                self.overlaps,
                step,
                {(number[i], number[j]) for i, j in deep if i in number and j in number},
            )
            if moved is None:
                return
            old = self.place[here]
            self._lay_all(here, moved.places)
            after = sum(d * self.weights[k] for k, d in self._deep_on(blank).items())
            if after >= before - 1e-6:
                self._lay_all(here, old)
                return
            if after > 0.9 * before:
                step *= 0.5

    def _around(self, blank: int, parts: set[int]) -> tuple[list[int], set[int]]:
        """Parts of a blank among which some are to be driven apart, and those of them that stay
        where they are: of few all may move, of many only those beside the given ones."""
        here = self.on(blank)
        if len(here) <= FEW:
            return here, set()
        boxes = np.array([self.shape(i).reach for i in here]) + np.tile(self.place[here], 2)
        near = 2.0 * self.step
        low = boxes[:, None, :2] < boxes[None, :, 2:] + near
        high = boxes[:, None, 2:] > boxes[None, :, :2] - near
        beside = np.all(low & high, axis=2)
        moving = np.any(beside[[i in parts for i in here]], axis=0)
        taken = np.any(beside[moving], axis=0)
        return (
            [i for i, t in zip(here, taken, strict=True) if t],
            {i for i, m in zip(here, moving, strict=True) if not m},
        )

    def _deep_on(self, blank: int) -> dict[tuple[int, int], float]:
        """Depth of every pair that overlaps and of which one at least is on a blank."""
        return {
            k: d
            for k, d in self._depths.items()
            if self.blank[k[0]] == blank or self.blank[k[1]] == blank
        }

    def draw_together(self, pulls: Sequence[tuple[float, float]], progress: Progress) -> None:
        """Draw parts that lie clear of each other together, by weights along x and y for each
        blank; none is drawn across what is better left."""
        for blank, pull in enumerate(pulls):
            here = self.on(blank)
            for _ in range(PULLS if here else 0):
                progress.check()
                moved = settle(
                    [self.shape(i) for i in here],
                    self.place[here],
                    np.array([self._limits(i, shun=True) for i in here]),
                    self.weights,
                    self.overlaps,
                    2.0 * self.step,
                    (),
                    pull,
                )
                if moved is None or moved.left > -1.0:
                    break
                old = self.place[here]
                self._lay_all(here, moved.places)
                if self._depths:
                    self._lay_all(here, old)
                    break

    def _limits(
        self, part: int, *, shun: bool = False, held: bool = False
    ) -> tuple[float, float, float, float]:
        """Least and greatest x, least and greatest y of a part without crossing what is not
        allowed."""
        x, y = (float(v) for v in self.place[part])
        if held or part in self.fixed:
            return x, x, y, y
        blank, way = self.blank[part], self.way[part]
        choice = self.choices[part][blank][way]
        low, high = min(choice.stretches, key=lambda s: max(s[0] - x, x - s[1], 0.0))
        for a, b in choice.shunned if shun else ():
            if b <= x:
                low = max(low, b)
            elif a >= x:
                high = min(high, a)
        if self.between is not None:
            for a, b, j in self.between.closed(self, part, blank, way):
                if b <= x + NOTHING:
                    low = max(low, (x + b) / 2 if b < x else x)
                elif a >= x - NOTHING:
                    high = min(high, (x + a) / 2 if a > x else x)
                elif not shun and (part < j) == (self.sweeps % 2 == 0):
                    # one of the two is to go out by the nearer end, the other in the next sweep
                    if x - a < b - x and a >= low:
                        high = min(high, a)
                    elif b <= high:
                        low = max(low, b)
        return low, high, choice.box[1], choice.box[3]
