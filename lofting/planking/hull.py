"""Planking the hull: every plank from its two lines to its flat panel, and the seams compared."""

from collections.abc import Callable
from dataclasses import replace
from math import degrees, inf

import numpy as np
from numpy.typing import NDArray

from lofting.bending import BendReport, grade_bend, smoothed_radius
from lofting.expansion import FlatStrip, expand_strip, flatten_strip, on_baseline
from lofting.fairing import Lines
from lofting.findings import Finding, Refused, Severity
from lofting.offsets import Role
from lofting.planking.across import flat_across, whole_findings
from lofting.planking.chains import Chain, Ends, hull_ends, sample_line
from lofting.planking.creases import crease_findings
from lofting.planking.edges import PanelEdges, Surface, panel_edges
from lofting.planking.hollows import hollow_findings
from lofting.planking.plate import Laid, laid_developed, laid_plank
from lofting.planking.seams import compare_seams, seam_findings
from lofting.planking.splitting import split_plank
from lofting.planking.stem_sides import laid_between
from lofting.planking.surface import (
    clear_of_ends,
    edge_faces,
    edge_normals,
    end_fans,
    faired_normals,
    gaussian_curvature,
    ruling_twist,
)
from lofting.planking.trimming import along
from lofting.planking.values import (
    Corner,
    Plank,
    Planking,
    PlankingSettings,
    PlankSpec,
    PlankSplit,
    SplitJoint,
)
from lofting.plywood import plywood
from lofting.progress import SILENT, Progress
from lofting.rulings import find_rulings
from lofting.vectors import lengths

Array = NDArray[np.float64]

ENDS_APART = 0.3
"""Share of the shorter line's length by which two lines of a plank may end apart fore and aft."""


EDGE_ERROR = 0.05
"""How far a flat edge may differ in length from the panel's own, mm: half of what a seam is held
to."""

IN_PLANE_SHARE = 0.2
"""Share of the strain at rupture that clamps and stitches pull a sheet to in its own plane (rule
of thumb, no source)."""


RulingSearch = Callable[[str, Array, Array], NDArray[np.intp]]
"""search(name of the plank, lower edge (n, 3), upper edge (m, 3)) gives its rulings (k, 2)."""


Laying = Callable[[Chain, Chain, NDArray[np.intp], float], Laid]
"""laying(lower chain, upper chain, rulings found (k, 2), thickness) lays a plank between them."""


def searched(_plank: str, lower: Array, upper: Array) -> NDArray[np.intp]:
    """The search of `lofting.rulings`, nothing remembered."""
    return find_rulings(lower, upper)


def plank_hull(
    lines: Lines,
    settings: PlankingSettings,
    *,
    progress: Progress = SILENT,
    search: RulingSearch = searched,
) -> Planking:
    """Plank the hull: rulings, thickness and joints, expansion, bend and twist, seams compared.

    Planks are given from keel to sheer. The result's arrays are read-only.

    Args:
        search: finds rulings as `lofting.rulings.find_rulings` does; one that remembers saves the
            search for planks whose lines did not change.

    Raises:
        Refused: no planks; a plank with an unknown line, with its lines in the wrong order, or
            with no thickness; an unknown plywood; a stem that does not fit.
    """
    surfaces, edges, settings, splits = _surfaced(lines, settings, search, progress, laid_plank)
    specs = [surface.spec for surface in surfaces]
    planks = []
    for k, (surface, own) in enumerate(zip(surfaces, edges, strict=True)):
        progress.report(0.6 + 0.35 * k / len(specs), f"panel of {surface.spec.name}")
        planks.append(_plank(surface, own, settings.twist_limit))
    for split in splits:
        progress.report(0.95, f"seam of {split.plank}")
        stems = hull_ends(lines).stem_line
        surfaces, edges, planks = _split(
            split, (surfaces, edges, planks), stems, settings.twist_limit
        )
    seams = compare_seams(planks, edges, splits)
    found = tuple(finding for plank in planks for finding in plank.findings)
    progress.report(1.0, "planked")
    planking = Planking(tuple(planks), seams, lines, settings)
    return replace(
        planking,
        findings=found
        + seam_findings(seams)
        + whole_findings(planking)
        + crease_findings(planking)
        + hollow_findings(planking),
    )


def hull_surfaces(
    lines: Lines, settings: PlankingSettings, *, search: RulingSearch = searched
) -> list[Surface]:
    """The planks' drawn surfaces, keel to sheer and none split yet, with rulings that twist as
    little as can be: by these `plank_hull` judges whether a plank must stretch. Raises as it
    does."""
    return _surfaced(lines, settings, search, SILENT, laid_developed)[0]


def _surfaced(
    lines: Lines,
    settings: PlankingSettings,
    search: RulingSearch,
    progress: Progress,
    laying: Laying,
) -> tuple[list[Surface], list[PanelEdges], PlankingSettings, tuple[PlankSplit, ...]]:
    if not settings.planks:
        raise Refused("planking", "There are no planks.", "Give a plank for every pair of lines.")
    order = {line.name: k for k, line in enumerate(lines.lines) if line.role is not Role.STEM}
    for spec in settings.planks:
        _check(spec, order)
    settings, splits = _on_centre(settings)
    specs = sorted(settings.planks, key=lambda spec: order[spec.lower])
    ends = hull_ends(lines)
    used = {name for spec in specs for name in (spec.lower, spec.upper)}
    sampled = {name: sample_line(lines.line(name), settings.samples) for name in used}
    surfaces = []
    # What is split has its seam's ends on stems that belong to its upper line.
    whole = {split.plank for split in splits}
    for k, spec in enumerate(specs):
        progress.report(0.6 * k / len(specs), f"rulings of {spec.name}")
        lower = sampled[spec.lower]
        if spec.whole:
            lower, _ = flat_across(lower, sampled[spec.upper], lines.line(spec.upper).batten)
        drawn = (lower, sampled[spec.upper])
        role, free = lines.line(spec.lower).role, not spec.whole and spec.name not in whole
        surfaces.append(_surface(spec, role, drawn, ends, search, laying, free=free))
    surfaces, edges = panel_edges(surfaces, settings, lines.drawn_to, ends)
    return surfaces, edges, settings, splits


def _on_centre(settings: PlankingSettings) -> tuple[PlankingSettings, tuple[PlankSplit, ...]]:
    """The settings with planks made whole split on the centreline where that is asked for, and
    how seams within planks meet; and the splits that are left to do."""
    halved = {split.plank for split in settings.splits if split.on_centre}
    for name in halved:
        if not any(spec.name == name and spec.whole for spec in settings.planks):
            raise Refused(
                f"seam of plank {name!r}",
                "Its seam has no breadth below it, and the plank is not one across the centreline.",
                "Give the seam shares of the breadth above 0, or take the split out.",
            )
    splits = tuple(split for split in settings.splits if not split.on_centre)
    planks = tuple(
        replace(spec, whole=False) if spec.name in halved else spec for spec in settings.planks
    )
    joints = {
        SplitJoint.BUTTED: Corner.INNER,
        SplitJoint.UPPER_LAPS: Corner.UPPER_LAPS,
        SplitJoint.LOWER_LAPS: Corner.LOWER_LAPS,
    }
    corners = tuple((split.seam, joints[split.joint]) for split in splits)
    return replace(settings, planks=planks, corners=settings.corners + corners), splits


def _split(
    split: PlankSplit,
    hull: tuple[list[Surface], list[PanelEdges], list[Plank]],
    stems: tuple[Array | None, Array | None],
    twist_limit: float,
) -> tuple[list[Surface], list[PanelEdges], list[Plank]]:
    """The planks with one of them split lengthwise."""
    surfaces, edges, planks = hull
    place = f"seam of plank {split.plank!r}"
    names = [plank.spec.name for plank in planks]
    if split.plank not in names:
        known = ", ".join(names)
        raise Refused(place, f"There is no plank {split.plank!r}.", f"Name one of {known}.")
    if not all(0.0 < share < 1.0 for share in (split.stem, split.middle, split.transom)):
        raise Refused(
            place,
            "A seam runs at shares of the plank's breadth between 0 and 1.",
            "Give shares between 0 and 1, such as 0.5.",
        )
    at = names.index(split.plank)
    taken = {name for k, name in enumerate(names) if k != at}
    taken |= {n for p in planks for n in (p.spec.lower, p.spec.upper)}
    for name in (split.seam, split.below, split.above):
        if name in taken:
            raise Refused(place, f"There is another {name!r} already.", "Give another name.")
        taken.add(name)
    whole = planks[at]
    strakes = split_plank(surfaces[at], edges[at], whole, split, stems)
    made = [
        replace(
            _plank(s.surface, s.edges, twist_limit, piece_of=(whole, s.source)),
            let_in=_read_only(s.let_in),
        )
        for s in strakes
    ]
    surfaces[at : at + 1] = [s.surface for s in strakes]
    edges[at : at + 1] = [s.edges for s in strakes]
    planks[at : at + 1] = made
    return surfaces, edges, planks


def _check(spec: PlankSpec, order: dict[str, int]) -> None:
    place = f"plank {spec.name!r}"
    for line in (spec.lower, spec.upper):
        if line not in order:
            known = ", ".join(order)
            raise Refused(place, f"There is no long line {line!r}.", f"Name one of {known}.")
    if order[spec.lower] >= order[spec.upper]:
        raise Refused(
            place,
            f"Its lower line {spec.lower!r} stands above its upper line {spec.upper!r}.",
            "Give the lines in order from keel to sheer.",
        )
    if not 0.0 < spec.thickness < inf:
        raise Refused(place, "Its thickness must be above 0.", "Give the plywood's thickness.")


def _surface(
    spec: PlankSpec,
    role: Role,
    drawn: tuple[Chain, Chain],
    ends: Ends,
    search: RulingSearch,
    laying: Laying,
    *,
    free: bool,
) -> Surface:

    def lay(name: str, lower: Chain, upper: Chain) -> Laid:
        return laying(lower, upper, search(name, lower.points, upper.points), spec.thickness)

    lower, upper, laid = laid_between(drawn, ends, spec, lay, free=free)
    at_lower, at_upper = edge_normals(lower, upper, laid.rulings)
    for normals, chain in ((at_lower, lower), (at_upper, upper)):
        normals[chain.line] = faired_normals(normals[chain.line], chain.line_corners())
    return Surface(spec, role, lower, upper, laid.rulings, at_lower, at_upper, laid=laid)


def _plank(
    surface: Surface,
    edges: PanelEdges,
    twist_limit: float,
    *,
    piece_of: tuple[Plank, NDArray[np.intp]] | None = None,
) -> Plank:
    """The plank with its panel laid flat. A strake is a piece of a plank, each of its rulings (k,)
    of the plank's ruling with that number: it bends as the plank does, and of the plank's twist it
    has its share of the ruling."""
    spec, rulings = surface.spec, surface.rulings
    flat = expand_strip(edges.mid_lower, edges.mid_upper, rulings)
    if piece_of is None:
        # What a plank is told to twist is what it cannot help, not what its sheet chooses to.
        least = None if surface.laid is None else surface.laid.least
        twist = ruling_twist(surface.lower, surface.upper, rulings if least is None else least)
        radius = smoothed_radius(edges.mid_lower, edges.mid_upper, rulings)
    else:
        plank, source = piece_of
        share = _ruling_lengths(edges.mid_lower, edges.mid_upper, rulings) / np.maximum(
            _ruling_lengths(plank.mid_lower, plank.mid_upper, plank.rulings[source]), 1e-9
        )
        twist = plank.twist[source] * np.minimum(share, 1.0)
        radius = plank.bend.radius[source]
    strain = np.zeros(len(rulings))
    fans = end_fans(surface.lower, surface.upper, rulings)
    if _twisted(twist, fans, flat, twist_limit):
        laid = flatten_strip(edges.mid_lower, edges.mid_upper, rulings)
        strain = laid.strain
        # A panel whose edges the least strain would shorten keeps them: seams must match.
        if _true_edges(laid.strip, edges):
            flat = laid.strip
    if spec.whole:
        flat = on_baseline(flat)
    middle = 0.5 * (flat.edge_a[rulings[:, 0]] + flat.edge_b[rulings[:, 1]])
    position = middle[:, 0]
    outside = clear_of_ends(fans, position)
    bend = _bend(spec, radius, flat, position, outside)
    found = (
        *_end_findings(surface),
        *_narrow_findings(surface, edges, position, outside),
        *_twist_findings(surface, twist, strain, position, outside, twist_limit),
        *bend.findings,
    )
    chain = surface.upper
    lines = (surface.lower.line, chain.line)
    corners = (surface.lower.corners, chain.corners)
    at_lower, at_upper = edge_faces(edges.mid_lower, edges.mid_upper, rulings, lines, corners)
    return Plank(
        spec=spec,
        lower=_read_only(surface.lower.points),
        upper=_read_only(chain.points),
        lower_corner=surface.lower.corners,
        upper_corner=chain.corners,
        rulings=rulings,
        lower_normals=_read_only(surface.lower_normals),
        upper_normals=_read_only(surface.upper_normals),
        mid_lower=_read_only(edges.mid_lower),
        mid_upper=_read_only(edges.mid_upper),
        inner_lower=_read_only(edges.inner_lower),
        inner_upper=_read_only(edges.inner_upper),
        flat_lower=_read_only(flat.edge_a),
        flat_upper=_read_only(flat.edge_b),
        twist=_read_only(np.abs(twist)),
        position=_read_only(position.copy()),
        bend=bend,
        area=flat.area() * 1e-6,
        strain=float(np.max(strain[outside], initial=0.0)),
        strain_along=_read_only(strain),
        face_lower=_read_only(edges.mid_lower - 0.5 * spec.thickness * at_lower),
        face_upper=_read_only(edges.mid_upper - 0.5 * spec.thickness * at_upper),
        findings=found,
        line_start=surface.upper.start,
        line_stop=surface.upper.stop,
        lower_start=surface.lower.start,
        lower_stop=surface.lower.stop,
        outside_fans=outside,
    )


def _ruling_lengths(lower: Array, upper: Array, rulings: NDArray[np.intp]) -> Array:
    return lengths(upper[rulings[:, 1]] - lower[rulings[:, 0]])


def _true_edges(flat: FlatStrip, edges: PanelEdges) -> bool:
    """Whether the flat edges run as long as the panel's, all along, within EDGE_ERROR."""
    pairs = ((flat.edge_a, edges.mid_lower), (flat.edge_b, edges.mid_upper))
    return all(np.max(np.abs(along(laid) - along(own))) < EDGE_ERROR for laid, own in pairs)


def _twisted(twist: Array, fans: NDArray[np.bool_], flat: FlatStrip, limit: float) -> bool:
    """Whether the plank twists too much, clear of its ends, to be unrolled as it is."""
    middle = 0.5 * (flat.edge_a[flat.rulings[:, 0], 0] + flat.edge_b[flat.rulings[:, 1], 0])
    clear = clear_of_ends(fans, middle)
    return bool(np.max(np.abs(twist[clear]), initial=0.0) > limit)


def _bend(
    spec: PlankSpec,
    radius: Array,
    flat: FlatStrip,
    position: Array,
    outside: NDArray[np.bool_],
) -> BendReport:
    ruling = flat.edge_b[flat.rulings[:, 1]] - flat.edge_a[flat.rulings[:, 0]]
    axis = np.abs(np.arctan2(ruling[:, 1], ruling[:, 0]))
    axis = np.minimum(axis, np.pi - axis)
    return grade_bend(
        spec.material,
        spec.thickness,
        radius,
        axis,
        position,
        outside_fans=outside,
        where={"plank": spec.name},
    )


def _end_findings(surface: Surface) -> tuple[Finding, ...]:
    """Lines that end far apart fore and aft: hardly the same plank."""
    lower, upper = surface.lower.points, surface.upper.points
    length = min(float(np.ptp(lower[:, 0])), float(np.ptp(upper[:, 0])))
    found = []
    for at, end in ((0, "bow"), (-1, "stern")):
        apart = abs(float(lower[at, 0] - upper[at, 0]))
        if apart > ENDS_APART * length:
            found.append(
                Finding(
                    Severity.STOP,
                    "plank-ends",
                    {"plank": surface.spec.name, "end": end},
                    f"At the {end} the lines {surface.spec.lower} and {surface.spec.upper} end "
                    f"{apart:.0f} mm apart fore and aft: one of them seems to stop short.",
                    "Give both lines their ends at the stem or transom.",
                    {"apart_mm": round(apart, 1)},
                )
            )
    return tuple(found)


def _narrow_findings(
    surface: Surface, edges: PanelEdges, position: Array, outside: NDArray[np.bool_]
) -> tuple[Finding, ...]:
    """A plank so narrow that what its joints take from either edge leaves nothing between."""
    i, j = surface.rulings.T
    drawn = surface.upper.points[j] - surface.lower.points[i]
    left = edges.mid_upper[j] - edges.mid_lower[i]
    gone = outside & (np.einsum("kc,kc->k", drawn, left) <= 0.0)
    if not np.any(gone):
        return ()
    start, stop = float(position[gone].min()), float(position[gone].max())
    return (
        Finding(
            Severity.STOP,
            "too-narrow",
            {"plank": surface.spec.name},
            f"From {start:.0f} to {stop:.0f} mm from its forward end the joints along both edges "
            "take more than the plank's breadth, so nothing of it is left there.",
            "Let inner corners touch along one of its lines, or make the plank broader or thinner.",
            {"from_mm": round(start, 1), "to_mm": round(stop, 1)},
        ),
    )


def _twist_findings(
    surface: Surface,
    twist: Array,
    strain: Array,
    position: Array,
    outside: NDArray[np.bool_],
    limit: float,
) -> tuple[Finding, ...]:
    size = np.where(outside, np.abs(twist), 0.0)
    worst = int(np.argmax(size))
    spec = surface.spec
    if size[worst] <= limit:
        return ()
    over = np.flatnonzero(size > limit)
    start, stop = float(position[over].min()), float(position[over].max())
    ends = surface.rulings[worst]
    ruling = surface.upper.points[ends[1]] - surface.lower.points[ends[0]]
    length = np.array([np.linalg.norm(ruling)])
    gauss = float(gaussian_curvature(twist[[worst]], length)[0]) * 1e6
    largest = float(np.max(strain[outside], initial=0.0))
    return (
        Finding(
            Severity.LOOK,
            "twist",
            {"plank": spec.name},
            f"The plank twists up to {degrees(size[worst]):.1f} degrees along a ruling at "
            f"{position[worst]:.0f} mm from its forward end (over the limit from {start:.0f} to "
            f"{stop:.0f} mm): sheet material resists that. {_strained(spec, largest)}",
            "Ease the lines on either side of it, or split the plank lengthwise.",
            {
                "twist_deg": round(degrees(size[worst]), 2),
                "x_mm": round(float(position[worst]), 1),
                "from_mm": round(start, 1),
                "to_mm": round(stop, 1),
                "strain_percent": round(100.0 * largest, 3),
                "gaussian_curvature_per_m2": round(gauss, 4),
            },
        ),
    )


def _strained(spec: PlankSpec, strain: float) -> str:
    bearable = IN_PLANE_SHARE * plywood(spec.material).rupture_strain
    verdict = "it may be pulled into shape" if strain <= bearable else "that is more than it takes"
    return (
        f"Its panel is laid flat with the least strain, {100.0 * strain:.2f} % at most; plywood "
        f"takes about {100.0 * bearable:.2f} % in its own plane, so {verdict}."
    )


def _read_only(array: Array) -> Array:
    view = array.view()
    view.flags.writeable = False
    return view
