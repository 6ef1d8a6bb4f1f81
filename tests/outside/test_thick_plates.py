"""Planks as plates of real thickness, sliced across their seams.

Each facet of a folded panel is made a prism, half a thickness to either side of it. Sliced by a
plane square to the seam, halfway along a piece of the edge, both planks become plane figures and
a general library of geometry (GEOS, through shapely) tells how far apart they are and how much
of one lies in the other. None of the formulas for joints is used, nor any faired normal.

Inner corners that touch, and laps, must touch and not overlap. Two square ends whose outer corners
touch overlap in a kite: its two sides of length t at right angles to two of t tan(phi / 2) (phi
the angle one plank turns from the other), so its area is t^2 tan(phi / 2); for a square corner
of unlike planks it is the rectangle t1 t2 (plane geometry).
"""

from dataclasses import replace
from functools import cache
from itertools import count

import numpy as np
import pytest
import shapely

from app.pipeline import Pipeline, Stage
from app.project.samples import load_sample
from lofting.dryfit import Folded, dry_fit
from lofting.planking import Corner, plank_hull
from tests.generators.boats import Boat, Kind, random_boat

Array = np.ndarray

REACH = 60.0
"""How far from the seam the planks are looked at, mm."""

SLICES = 12

TOUCHING = 0.02
"""How far apart planks may be that touch, mm: a tenth of what a saw wanders."""

BARELY = 0.05
"""How much of a section may lie in the other, mm2: a hundredth of a millimetre by five."""

IN_LINE = np.radians(30.0)
"""Planks that turn by less from each other do not lap in full: they butt, ends square."""

SIDES = ((0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5))
"""The edges of a prism of six corners."""


def section(panel: Folded, thickness: float, at: Array, along: Array) -> shapely.Geometry:
    """The plate's section by the plane through `at` square to `along`, in axes of the plane."""
    across = np.cross(along, [0.0, 0.3, 1.0])
    across /= np.linalg.norm(across)
    up = np.cross(along, across)
    points, lower = np.vstack([panel.lower, panel.upper]), len(panel.lower)
    before, after = panel.rulings[:-1], panel.rulings[1:]
    third = np.where(after[:, 0] > before[:, 0], after[:, 0], after[:, 1] + lower)
    facets = np.column_stack([before[:, 0], before[:, 1] + lower, third])
    away = (points - at) @ along
    crossed = (away[facets].min(axis=1) < thickness) & (away[facets].max(axis=1) > -thickness)
    figures = []
    for facet in points[facets[crossed]]:
        normal = np.cross(facet[1] - facet[0], facet[2] - facet[0])
        if np.linalg.norm(normal) < 1e-6:
            continue
        half = 0.5 * thickness * normal / np.linalg.norm(normal)
        prism = np.vstack([facet - half, facet + half]) - at
        height = prism @ along
        cut = [
            prism[i] + height[i] / (height[i] - height[j]) * (prism[j] - prism[i])
            for i, j in SIDES
            if (height[i] > 0.0) != (height[j] > 0.0)
        ]
        if len(cut) >= 3:
            flat = np.array(cut) @ np.column_stack([across, up])
            figures.append(shapely.MultiPoint(flat).convex_hull.buffer(1e-4))
    return shapely.union_all(figures).intersection(shapely.Point(0.0, 0.0).buffer(REACH))


def sliced(lines, settings):
    """Of every seam, at SLICES places: rule, thicknesses, turn of the planks (rad, positive
    outward), how far apart, how much overlaps (mm2)."""
    hull = plank_hull(lines, settings)
    panels = dict(zip((p.spec.name for p in hull.planks), dry_fit(hull).panels, strict=True))
    starts_on = {plank.spec.lower: plank for plank in hull.planks}
    for below in hull.planks:
        above = starts_on.get(below.spec.upper)
        if above is None:
            continue
        edge = panels[below.spec.name].upper[below.line_start : below.line_stop]
        for share in np.linspace(0.05, 0.95, SLICES):
            k = int(share * (len(edge) - 2))
            along = (edge[k + 1] - edge[k]) / np.linalg.norm(edge[k + 1] - edge[k])
            middle = 0.5 * (edge[k] + edge[k + 1])
            one, two = (
                section(panels[plank.spec.name], plank.spec.thickness, middle, along)
                for plank in (below, above)
            )
            here = panels[below.spec.name].upper_normals[below.line_start + k]
            there = panels[above.spec.name].lower_normals[above.lower_line.start + k]
            turn = np.arcsin(np.clip(np.cross(here, there) @ along, -1.0, 1.0))
            turn = turn if here @ there > 0.0 else np.pi - turn
            yield (
                settings.corner(below.spec.upper),
                (below.spec.thickness, above.spec.thickness),
                turn,
                one.distance(two),
                one.intersection(two).area,
            )


@cache
def hull_of(what: str | Kind):
    """A sample, or the first boat of a family whose planks develop."""
    if isinstance(what, Kind):
        boat = next(filter(develops, (random_boat(what, seed) for seed in count())))
        return boat.lines, boat.settings
    planking = Pipeline().run(load_sample(what), Stage.PLANKING).planking
    return planking.lines, planking.settings


def develops(boat: Boat) -> bool:
    hull = plank_hull(boat.lines, boat.settings)
    return not any(f.code == "twist" for plank in hull.planks for f in plank.findings)


@pytest.mark.parametrize("corner", list(Corner))
@pytest.mark.parametrize(
    "what", ["lake_skiff", "quay_pram", "marsh_canoe", "stone_punt", *Kind], ids=str
)
def test_planks_of_real_thickness_meet_at_their_seams(what: str | Kind, corner: Corner) -> None:
    lines, settings = hull_of(what)
    chines = tuple((plank.upper, corner) for plank in settings.planks[:-1])
    met = list(sliced(lines, replace(settings, corners=chines)))
    assert len(met) == SLICES * len(chines)
    for rule, thickness, turn, apart, overlap in met:
        assert rule is corner
        assert apart < TOUCHING
        if rule is Corner.OUTER and thickness[0] == thickness[1]:
            kite = thickness[0] ** 2 * np.tan(0.5 * turn)
            # where planks turn by 3 degrees, facets and faired normals differ by a tenth of one
            assert overlap == pytest.approx(kite, rel=0.05, abs=2.0 * BARELY)
        elif rule is Corner.OUTER and turn == pytest.approx(0.5 * np.pi, abs=0.01):
            assert overlap == pytest.approx(thickness[0] * thickness[1], rel=0.02)
        elif rule is not Corner.OUTER and turn > IN_LINE:
            assert overlap < BARELY
