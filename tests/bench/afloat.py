"""Afloat: one immersion, one attitude, a curve of levers, all load cases; and how exact."""

import statistics
import time
from collections.abc import Iterator

import numpy as np

from app.pipeline import Pipeline, Stage
from app.project import conversion
from app.project.samples import load_sample
from lofting.hydrostatics import equilibrium, float_hull, hull_mesh, immerse, righting_levers
from lofting.weights import weigh
from tests.generators import solids

RUNS = 9


def _median_ms(work) -> float:
    spent = []
    for _ in range(RUNS):
        begin = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begin)
    return round(1000 * statistics.median(spent), 2)


def figures() -> Iterator[tuple[str, float, str]]:
    """Yield (name, value, unit)."""
    project = load_sample("lake_skiff")
    boat = Pipeline().run(project, Stage.AFLOAT)
    mesh, weights = boat.afloat.mesh, boat.weights
    cases = conversion.load_cases(project)
    centre = np.asarray(weights.centre)
    yield "faces of the lake skiff", float(len(mesh.faces)), ""
    yield "hull mesh", _median_ms(lambda: hull_mesh(boat.planking)), "ms"
    yield "one immersion", _median_ms(lambda: immerse(mesh.vertices, mesh.faces, 150.0)), "ms"
    mass = boat.afloat.cases[0].mass
    yield (
        "attitude",
        _median_ms(lambda: equilibrium(mesh.vertices, mesh.faces, mass, centre)),
        "ms",
    )
    yield (
        "levers to 90 degrees, closed",
        _median_ms(lambda: righting_levers(mesh.vertices, mesh.faces, mass, centre)),
        "ms",
    )
    yield (
        "three load cases",
        _median_ms(lambda: float_hull(mesh, weights.mass, centre, cases)),
        "ms",
    )
    yield (
        "weight list",
        _median_ms(
            lambda: weigh(
                boat.planking,
                boat.parts,
                conversion.timbers(project),
                conversion.finish(project),
            )
        ),
        "ms",
    )
    for count in (21, 41, 81):
        vertices, faces = solids.wigley(4000, 400, 250, count, count)
        volume = immerse(vertices, faces, 250.0).volume / 1e9
        error = abs(volume / (4 * 4.0 * 0.4 * 0.25 / 9) - 1)
        yield f"Wigley volume error, {count} stations", round(100 * error, 5), "%"
