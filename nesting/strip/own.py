"""A first strip packing: bottom-left placing over no-fit polygons, the order of placing improved by
local search."""

import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from lofting.progress import SILENT, Progress
from nesting.nofit import SIMPLER, Board, NoFit, Shape, corners, make_shape
from nesting.strip.door import PackedStrip, StripItem, StripPlacement, _matrix


def pack_by_placing(
    items: Sequence[StripItem],
    width: float,
    *,
    seconds: float,
    seed: int,
    separation: float,
    progress: Progress = SILENT,
) -> PackedStrip:
    """Pack every copy; the best of as many orders as the time allows (at least one).

    Orders start from the largest first and are changed a little at a time; a change is kept if
    the strip gets no longer, or sometimes when it gets a little longer (late acceptance, Burke
    and Bykov, European Journal of Operational Research 258, 2017).
    """
    simpler = SIMPLER * min(1.0, width / 1220.0)
    shapes: list[list[tuple[float, Shape]]] = []
    copies: list[int] = []
    for k, item in enumerate(items):
        turned = [
            (
                turn,
                make_shape(
                    Polygon(np.asarray(item.outline) @ _matrix(turn).T), separation, simpler=simpler
                ),
            )
            for turn in different_turns(item)
        ]
        shapes.append(turned)
        copies += [k] * item.demand
    nofit = NoFit()
    random = np.random.default_rng(seed)
    end = time.perf_counter() + seconds
    area = [s[0][1].area for s in shapes]
    size = [
        max(s[0][1].bounds[2] - s[0][1].bounds[0], s[0][1].bounds[3] - s[0][1].bounds[1])
        for s in shapes
    ]
    order = sorted(copies, key=lambda k: -area[k] - size[k] ** 2)
    longest = sum(max(s.bounds[2] - s.bounds[0] for _, s in shapes[k]) + separation for k in copies)
    longest += 2 * separation + 1.0
    margin = separation
    start = Board(longest, width, margin, (), nofit)
    current = _Laid(order, [start], [], 0.0)
    current = _place(order, 0, current, shapes, np.inf, progress)
    best = current
    history = [current.length] * 12
    tries = 0
    while time.perf_counter() < end:
        tries += 1
        changed, first = _change(current.order, random)
        slot = tries % len(history)
        limit = max(history[slot], history[slot - 1])
        trial = _place(changed, first, current, shapes, limit, progress)
        if trial.length <= limit:
            current = trial
            history[slot] = trial.length
        if trial.length < best.length - 1e-6:
            best = trial
    return PackedStrip(
        best.length + separation,
        tuple(StripPlacement(items[k].name, x, y, turn) for k, turn, x, y in best.places),
    )


def different_turns(item: StripItem) -> list[float]:
    """The turns of an item that do not look alike, rad."""
    turned: list[tuple[float, Polygon]] = []
    for turn in item.turns:
        polygon = Polygon(np.asarray(item.outline) @ _matrix(turn).T)
        if not any(_alike(polygon, other) for _, other in turned):
            turned.append((turn, polygon))
    return [turn for turn, _ in turned]


def _alike(a: Polygon, b: Polygon) -> bool:
    one = np.asarray(a.normalize().exterior.coords)
    other = np.asarray(b.normalize().exterior.coords)
    if one.shape != other.shape:
        return False
    return bool(np.allclose(one - one.min(axis=0), other - other.min(axis=0), atol=1e-6))


@dataclass(eq=False)
class _Laid:
    """An order, the board before each of its copies was laid, and where each went."""

    order: list[int]
    boards: list[Board]
    places: list[tuple[int, float, float, float]]
    length: float


def _change(order: list[int], random: np.random.Generator) -> tuple[list[int], int]:
    """The order with one or two changes, and the first place that changed."""
    changed = list(order)
    first = len(order)
    for _ in range(1 + int(random.integers(2))):
        i, j = (int(v) for v in random.integers(len(changed), size=2))
        for _ in range(8):
            if changed[i] != changed[j]:
                break
            j = int(random.integers(len(changed)))
        if random.random() < 0.6:
            changed[i], changed[j] = changed[j], changed[i]
        else:
            changed.insert(j, changed.pop(i))
        first = min(first, i, j)
    return changed, first


def _place(
    order: list[int],
    first: int,
    before: _Laid,
    shapes: Sequence[Sequence[tuple[float, Shape]]],
    give_up: float,
    progress: Progress,
) -> _Laid:
    """Lay copies in order, each where its far end comes least far, starting from copy `first` on
    the boards of an earlier order; length is infinite once it goes beyond give_up."""
    boards, places = before.boards[: first + 1], before.places[:first]
    length = 0.0
    for k, turn, x, _ in places:
        shape = next(s for t, s in shapes[k] if t == turn)
        length = max(length, x + shape.bounds[2])
    for k in order[first:]:
        progress.check()
        board = boards[-1].copy()
        best: tuple[float, float, Shape, float, float] | None = None
        for turn, shape in shapes[k]:
            points = corners(board.region(shape))
            if not len(points):
                continue
            score = points[:, 0] + shape.bounds[2] + 1e-4 * points[:, 1]
            i = int(np.argmin(score))
            if best is None or score[i] < best[0] - 1e-9:
                best = (float(score[i]), turn, shape, float(points[i, 0]), float(points[i, 1]))
        assert best is not None, "the strip is longer than all parts end to end"
        _, turn, shape, x, y = best
        boards[-1]._left = board._left  # what was worked out here is true of the board before
        board.lay(shape, x, y)
        boards.append(board)
        places.append((k, turn, x, y))
        length = max(length, x + shape.bounds[2])
        if length > give_up + 1e-9:
            return _Laid(order, boards, places, np.inf)
    return _Laid(order, boards, places, length)
