"""From the table to the boat's lines: usable points, battens, fairing where asked, findings."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lofting import tolerances
from lofting.battens import PLAN, PROFILE, Batten, End, spring
from lofting.fairing.easing import EaseTerm, LooseLine, ease_lines
from lofting.fairing.kinks import find_kinks, kinked_points
from lofting.fairing.smoothing import least_tolerance, likely_error, smooth_line
from lofting.fairing.values import EasedPlank, FairingSettings, FairLine, Lines, Move
from lofting.findings import Finding, Severity
from lofting.offsets import OffsetTable, Role, TableLine

Array = NDArray[np.float64]
Easing = Callable[[Lines], Sequence[EaseTerm]]
"""From where the lines lie to what the planks between them say."""

COORDINATES = ("x", "half_breadth", "height")

STILL = 0.005
"""Moves smaller than this (mm) are not listed: a hundredth of what can be marked."""

LOOSE = 1.0
"""A batten let go at one weight of a fair line springs less than this, mm: twice what can be
marked."""

STIFFER = (1.0, 0.3, 0.1, 0.03)
"""Battens tried one after the other on a line that will not come fair."""


def fair_lines(
    table: OffsetTable, settings: FairingSettings, *, easing: Easing | None = None
) -> Lines:
    """Spring battens through every line, fair those asked for, and report what was noticed.

    Points that lack a figure are passed by (finding "half-blank"); a line with fewer than two
    points is left out. `easing`, used when settings.eased, says what the planks make of the
    lines; those to be faired are then moved so that it comes small (see `easing`), and
    Lines.eased tells by how much.
    """
    findings: list[Finding] = []
    usable = [(line, _usable(line, findings)) for line in table.lines]
    usable = [(line, kept) for line, kept in usable if len(kept) >= 2]
    limits = {line.name: _limits(line, kept, usable) for line, kept in usable}
    lines = []
    for line, kept in usable:
        typed = line.array()[kept]
        lines.append(
            _worked_out(
                line.name,
                line.role,
                tuple(line.points[i].label for i in kept),
                typed.tobytes(),
                limits[line.name].tobytes(),
                _knuckles(line, kept),
                settings.ends,
                line.name in settings.fair,
            )
        )
    result = Lines(tuple(lines), table.stations, table.conventions.drawn_to)
    if settings.eased and easing is not None:
        result = _eased(result, settings.fair, limits, easing)
    for (line, kept), fair in zip(usable, result.lines, strict=True):
        reading = tuple(line.points[i].tolerance for i in kept)
        held = limits[line.name].tobytes() if line.name in settings.fair else None
        findings.extend(_noticed(fair, reading, held))
    known = {line.name for line in table.lines}
    findings.extend(
        Finding(
            Severity.NOTE,
            "no-such-line",
            {"line": name},
            f"{name} was to be faired, but the table has no such line.",
            "Choose the lines to fair again.",
        )
        for name in settings.fair
        if name not in known
    )
    return replace(result, findings=tuple(findings))


@lru_cache(maxsize=64)
def _worked_out(
    name: str,
    role: Role,
    labels: tuple[str, ...],
    figures: bytes,
    allowed: bytes,
    knuckles: tuple[int, ...],
    end: End,
    to_fair: bool,
) -> FairLine:
    """One line sprung, and faired if asked; figures and allowed are (n, 3) floats. Remembered, so
    that a changed cell costs the work of its line alone."""
    typed, limits = (np.frombuffer(b).reshape(-1, 3) for b in (figures, allowed))
    before = spring(typed, knuckles=knuckles, ends=(end, end))
    inflections, loads = count_inflections(before), _loads(before)
    as_typed = FairLine(
        name,
        role,
        labels,
        typed,
        typed,
        before,
        before,
        limits.max(axis=1),
        inflections,
        inflections,
        loads,
        loads,
    )
    return _remade(as_typed, _smooth(as_typed, limits)) if to_fair else as_typed


@lru_cache(maxsize=64)
def _noticed(
    line: FairLine, reading: tuple[float, ...], allowed: bytes | None
) -> tuple[Finding, ...]:
    """What is to be said of a line; allowed: its limits (n, 3) where it is faired. Remembered, as
    the line is."""
    found = find_kinks(line, np.maximum(np.array(reading), tolerances.ROUNDING))
    if allowed is not None:
        found += _too_tight(line, np.frombuffer(allowed).reshape(-1, 3))
    return tuple(found)


def _smooth(line: FairLine, limits: Array) -> Array:
    """The line faired: the likeliest one, or where that is not fair yet the first stiffer one
    that is."""
    typed, knuckles = line.typed, line.before.knuckles
    axes, along = _axes(typed), line.role is Role.STEM
    first: Array | None = None
    for looser in STIFFER:
        points = smooth_line(
            typed, limits, knuckles=knuckles, axes=axes, along=along, looser=looser
        )
        first = points if first is None else first
        if _is_fair(points, knuckles, count_inflections(_run_past(first, knuckles))):
            return points
    return typed if first is None else first


def _eased(
    lines: Lines, names: tuple[str, ...], limits: Mapping[str, Array], easing: Easing
) -> Lines:
    """The lines of those names eased; a stem, which closes the planks, stays."""
    chosen = [ln for ln in lines.lines if ln.name in names and ln.role is not Role.STEM]
    known = {line.name: line for line in chosen}
    loose = [
        LooseLine(
            line.name,
            line.typed,
            line.faired,
            limits[line.name],
            line.batten.knuckles,
            _axes(line.typed),
        )
        for line in chosen
    ]
    most = {line.name: _turns(line.faired, line) for line in chosen}

    def drawn(points: Mapping[str, Array]) -> Lines:
        moved = {n: known[n].through(p) for n, p in points.items()}
        return replace(lines, lines=tuple(moved.get(ln.name, ln) for ln in lines.lines))

    def is_fair(name: str, points: Array) -> bool:
        return _no_less_fair(known[name], points, most[name])

    result = ease_lines(loose, lambda points: easing(drawn(points)), is_fair)
    told = tuple(
        EasedPlank(a.name, a.largest, b.largest, a.wanted)
        for a, b in zip(result.before, result.after, strict=True)
    )
    fixed = {
        n: np.clip(p, known[n].typed - limits[n], known[n].typed + limits[n])
        for n, p in result.points.items()
    }
    eased = {n: _remade(known[n], p) for n, p in fixed.items()}
    return replace(lines, lines=tuple(eased.get(ln.name, ln) for ln in lines.lines), eased=told)


def _turns(points: Array, line: FairLine) -> int:
    """Inflections at the plan's own ends and run past, whichever are more."""
    knuckles = line.batten.knuckles
    own = spring(points, knuckles=knuckles, ends=line.batten.ends)
    return max(count_inflections(own), count_inflections(_run_past(points, knuckles)))


def _no_less_fair(line: FairLine, points: Array, most: int) -> bool:
    """No more inflections than `most`, and no kink that the faired line has not."""
    if _turns(points, line) > most:
        return False
    allowed, knuckles = np.full(len(points), LOOSE), line.batten.knuckles
    for axis in _axes(points):
        had = {i for i, _ in kinked_points(line.faired, allowed, axis, knuckles)}
        if any(i not in had for i, _ in kinked_points(points, allowed, axis, knuckles)):
            return False
    return True


def _usable(line: TableLine, findings: list[Finding]) -> list[int]:
    """Indices of the points a batten can be held at: all three figures there, no two in one
    place."""
    kept: list[int] = []
    array = line.array()
    for i, point in enumerate(line.points):
        blank = np.isnan(array[i])
        if blank.any():
            if not blank[1:].all() and not blank[0]:
                missing = "half-breadth" if blank[1] else "height"
                findings.append(
                    Finding(
                        Severity.NOTE,
                        "half-blank",
                        {
                            "line": line.name,
                            "point": point.label,
                            "coordinate": COORDINATES[1 if blank[1] else 2],
                        },
                        f"{line.name} has no {missing} at {point.label}, so its batten is not "
                        "held there.",
                        f"Type the {missing} if the plan gives it.",
                    )
                )
            continue
        if kept and np.linalg.norm(array[i] - array[kept[-1]]) <= tolerances.COINCIDENT:
            continue
        kept.append(i)
    return kept


def _knuckles(line: TableLine, kept: list[int]) -> tuple[int, ...]:
    inner = range(1, len(kept) - 1)
    return tuple(i for i in inner if line.points[kept[i]].knuckle)


def _axes(points: Array) -> tuple[int, ...]:
    """The coordinates with something to fair: a line on the centreline has no breadths."""
    return (2,) if not np.abs(points[:, 1]).any() else (1, 2)


def _limits(line: TableLine, kept: list[int], usable: list[tuple[TableLine, list[int]]]) -> Array:
    """How far each figure may move, mm: (n, 3). Stations keep their x, what lies on the
    centreline stays there, and where a line ends on another's point (a sheer on the stem head)
    the two stay together."""
    array = line.array()[kept]
    limits = np.zeros_like(array)
    for row, i in enumerate(kept):
        point = line.points[i]
        if point.pinned:
            continue
        limits[row] = max(0.0, point.tolerance)
        if line.role is not Role.STEM:
            limits[row, 0] = 0.0
        if point.half_breadth == 0.0:
            limits[row, 1] = 0.0
    for row in (0, len(kept) - 1):
        for other, their in usable:
            if other.name == line.name:
                continue
            apart = np.linalg.norm(other.array()[their] - array[row], axis=1)
            if float(apart.min()) <= tolerances.ROUNDING:
                limits[row] = 0.0
            elif other.role is Role.STEM and line.role is not Role.STEM and len(their) >= 2:
                points, near = _stem_samples(other.array()[their].tobytes())
                if float(np.linalg.norm(points - array[row], axis=1).min()) <= near:
                    limits[row] = 0.0
    return limits


@lru_cache(maxsize=8)
def _stem_samples(figures: bytes) -> tuple[Array, float]:
    """Points along a stem through figures (n, 3), and within how many mm of them another counts
    as lying on it."""
    stem = spring(np.frombuffer(figures).reshape(-1, 3))
    points = stem.by_length(tolerances.SAMPLES_PER_LINE)[1]
    return points, stem.length() / tolerances.SAMPLES_PER_LINE + tolerances.READING


def _remade(line: FairLine, faired: Array) -> FairLine:
    """The line with its faired points there, everything told of them worked out."""
    typed = line.typed
    if not bool(np.abs(faired - typed).max() > 0.0):
        return line
    moves = [
        Move(line.name, line.labels[row], COORDINATES[axis], typed[row, axis], faired[row, axis])
        for row, axis in zip(*np.nonzero(np.abs(faired - typed) >= STILL), strict=True)
    ]
    moves.sort(key=lambda move: -move.size)
    faired.setflags(write=False)
    batten = spring(faired, knuckles=line.before.knuckles, ends=line.before.ends)
    return replace(
        line,
        faired=faired,
        batten=batten,
        inflections_after=count_inflections(batten),
        loads_after=_loads(batten),
        moves=tuple(moves),
    )


def count_inflections(batten: Batten) -> int:
    """Changes of sign of curvature in plan and profile together."""
    return len(batten.inflections(PLAN)) + len(batten.inflections(PROFILE))


def _loads(batten: Batten) -> Array:
    loads = np.column_stack([batten.loads(PLAN), batten.loads(PROFILE)])
    loads.setflags(write=False)
    return loads


def _run_past(points: Array, knuckles: tuple[int, ...]) -> Batten:
    return spring(points, knuckles=knuckles, ends=(End.RUN_PAST, End.RUN_PAST))


def _is_fair(points: Array, knuckles: tuple[int, ...], most: int) -> bool:
    """No more inflections than `most` and no weight that pushes against both its neighbours."""
    if count_inflections(_run_past(points, knuckles)) > most:
        return False
    allowed = np.full(len(points), LOOSE)
    return not any(kinked_points(points, allowed, axis, knuckles) for axis in _axes(points))


def _too_tight(line: FairLine, limits: Array) -> list[Finding]:
    """A finding with the least tolerance that would do, where the tolerance allows no fair line."""
    knuckles, along = line.batten.knuckles, line.role is Role.STEM
    axes = _axes(line.typed)
    times = likely_error(line.typed, limits, knuckles=knuckles, axes=axes)
    easy = smooth_line(line.typed, times * limits, knuckles=knuckles, axes=axes, along=along)
    most = count_inflections(_run_past(easy, knuckles))
    if _is_fair(line.faired, knuckles, most):
        return []
    least = least_tolerance(
        line.typed,
        limits,
        lambda points, _allowed: _is_fair(points, knuckles, most),
        knuckles=knuckles,
        axes=axes,
        along=along,
    )
    if least is None:
        message = f"{line.name} cannot be made fair by moving its figures a little."
        remedy = "Look for a wrong figure first, or mark the knuckle the boat has there."
    else:
        message = (
            f"{line.name} is smoother but not fair inside its tolerance; {least:.1f} mm either "
            "way would do."
        )
        remedy = "Allow that much if you think the plan is that coarse, or look for a wrong figure."
    return [
        Finding(
            Severity.LOOK,
            "tolerance-too-small",
            {"line": line.name},
            message,
            remedy,
            {"least_tolerance": least},
        )
    ]
