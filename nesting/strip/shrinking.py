"""Our own dense strip packing: a first packing by placing, then the strip is made a little shorter
and the parts driven apart on it, again and again.

(Overlap minimisation on a strip of given length, shortened after each success and lengthened
after failures: Imamichi, Yagiura and Nagamochi, Discrete Optimization 6, 2009.) What the program
uses where the packing library is missing.
"""

import time
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from lofting.progress import SILENT, Progress
from nesting.apart import Choice, Heap
from nesting.nofit import HAIR, NoFit, Shape, make_shape
from nesting.overlaps import WIDE, Overlaps
from nesting.strip.door import PackedStrip, StripItem, StripPlacement, _matrix
from nesting.strip.own import different_turns, pack_by_placing

Array = NDArray[np.float64]

FIRST = 0.1
"""Share of the time given to the first packing."""

FINER = 0.15
"""mm on a strip as wide as a sheet by which outlines may grow to have fewer corners."""

SHORTER, LEAST = 0.02, 0.0015
"""Share by which the strip is shortened at first, and at least."""

IDLE = 25
"""Sweeps without less overlap after which a length is given up for now."""

STEPS = (20.0, 60.0)
"""mm that a part may move in one round of settling, in turn from one length to the next: long parts
want long steps, many small ones short ones."""

Laid = tuple[int, float, float]
"""The number of the turn, and the place of the datum on the widened strip."""


def pack_by_driving_apart(
    items: Sequence[StripItem],
    width: float,
    *,
    seconds: float,
    seed: int,
    separation: float,
    progress: Progress = SILENT,
) -> PackedStrip:
    """Pack every copy as densely as the time allows."""
    end = time.perf_counter() + seconds
    first = pack_by_placing(
        items, width, seconds=FIRST * seconds, seed=seed, separation=separation, progress=progress
    )
    return Shrinking(items, width, separation, seed, first).run(end, progress)


class Shrinking:
    """A strip that gets shorter. Everything in here is `scale` times as large as outside, so that
    the strip is as wide as a sheet of plywood."""

    def __init__(
        self,
        items: Sequence[StripItem],
        width: float,
        separation: float,
        seed: int,
        first: PackedStrip,
    ) -> None:
        self.items, self.scale = items, WIDE / width
        self.width, self.gap = WIDE, separation * self.scale
        self.random = np.random.default_rng(seed)
        self.overlaps = Overlaps(NoFit())
        self.turns = [different_turns(item) for item in items]
        self.shapes: list[list[Shape]] = [
            [
                make_shape(
                    Polygon(np.asarray(item.outline) @ _matrix(turn).T * self.scale),
                    self.gap,
                    simpler=FINER,
                )
                for turn in turns
            ]
            for item, turns in zip(items, self.turns, strict=True)
        ]
        number = {item.name: k for k, item in enumerate(items)}
        self.copies: list[int] = []
        laid: list[Laid] = []
        for p in first.placements:
            k = number[p.name]
            off = [abs((t - p.rotation + np.pi) % (2 * np.pi) - np.pi) for t in self.turns[k]]
            self.copies.append(k)
            laid.append((int(np.argmin(off)), p.x * self.scale, p.y * self.scale))
        self.best = laid
        self.length = first.length * self.scale
        self.tries = 0

    def run(self, end: float, progress: Progress) -> PackedStrip:
        """Shorten the strip until the time is up."""
        share = SHORTER
        failures = 0
        while time.perf_counter() < end:
            least = max(
                self.shapes[k][w].bounds[2] - self.shapes[k][w].bounds[0]
                for k, (w, _, _) in zip(self.copies, self.best, strict=True)
            )
            target = max(self.length * (1.0 - share), least + 2 * self.gap)
            if target >= self.length - 1e-6:
                break
            if self._shorten(target, failures, end, progress):
                failures = 0
                share = min(SHORTER, 1.5 * share)
            else:
                failures += 1
                share = max(LEAST, 0.6 * share)
        return PackedStrip(
            self.length / self.scale,
            tuple(
                StripPlacement(
                    self.items[k].name, x / self.scale, y / self.scale, self.turns[k][way]
                )
                for k, (way, x, y) in zip(self.copies, self.best, strict=True)
            ),
        )

    def _shorten(self, target: float, failures: int, end: float, progress: Progress) -> bool:
        heap = Heap(self._choices(target), self.overlaps, self.random, step=STEPS[self.tries % 2])
        self.tries += 1
        laid = list(self.best)
        if failures:  # two copies change places, to come away from where nothing gets shorter
            i, j = (int(v) for v in self.random.integers(len(laid), size=2))
            laid[i], laid[j] = self._changed(heap, i, laid[j]), self._changed(heap, j, laid[i])
        for i, (way, x, y) in enumerate(laid):
            heap.lay(i, 0, way, *heap.choices[i][0][way].nearest(x, y))
        least, idle = heap.total(), 0
        while heap.deep():
            if time.perf_counter() >= end or idle >= IDLE:
                return False
            heap.sweep(progress)
            idle += 1
            if heap.total() < 0.98 * least:
                least, idle = heap.total(), 0
        heap.draw_together([(1.0, 0.02)], progress)
        self.best = [
            (heap.way[i], float(heap.place[i, 0]), float(heap.place[i, 1]))
            for i in range(len(self.copies))
        ]
        right = max(
            x + self.shapes[k][way].bounds[2]
            for k, (way, x, _) in zip(self.copies, self.best, strict=True)
        )
        self.length = min(target, right + self.gap)
        return True

    def _changed(self, heap: Heap, i: int, where: Laid) -> Laid:
        """Copy i with the middle of its box where another's was, turned in some way."""
        ways = [w for w, choice in enumerate(heap.choices[i][0]) if choice.stretches]
        way = ways[int(self.random.integers(len(ways)))]
        x0, y0, x1, y1 = self.shapes[self.copies[i]][way].bounds
        return way, where[1] - (x0 + x1) / 2, where[2] - (y0 + y1) / 2

    def _choices(self, length: float) -> list[list[list[Choice]]]:
        made: dict[int, list[list[Choice]]] = {}
        edge = self.gap - HAIR
        for k, shapes in enumerate(self.shapes):
            row = []
            for shape in shapes:
                x0, y0, x1, y1 = shape.bounds
                right, top = length - edge - x1, self.width - edge - y1
                box = (edge - x0, edge - y0, right, top)
                fits = right >= edge - x0 and top >= edge - y0
                row.append(Choice(shape, box, ((box[0], right),) if fits else ()))
            made[k] = [row]
        return [made[k] for k in self.copies]
