"""Cutting files of a sample: how long they take, how far they are off, how large they are."""

import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from shapely import Polygon

from app.cutting.arcs import as_points, fit_arcs
from app.cutting.dxf import CuttingOptions, write_parts_dxf
from app.pipeline import Pipeline, Stage
from app.project.samples import load_sample
from app.readback.dxf import read_back_parts

SAMPLES = ("lake_skiff", "quay_pram", "marsh_canoe")


def figures() -> Iterator[tuple[str, float, str]]:
    """For every part of each sample, with and without a cutter of 6 mm."""
    vertices, points, areas = 0, 0, [0.0]
    for name in SAMPLES:
        boat = Pipeline().run(load_sample(name), Stage.PARTS)
        assert boat.parts is not None
        parts = boat.parts.parts
        for part in parts:
            fitted = fit_arcs(part.outline, part.corners)
            vertices, points = vertices + len(fitted), points + len(part.outline)
            true = Polygon(part.outline).area
            areas.append(abs(Polygon(as_points(fitted)).area / true - 1))
        for tool in (0.0, 6.0):
            options = CuttingOptions(tool_diameter=tool)
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "all-parts.dxf"
                write_parts_dxf(path, parts, options)
                begin = time.perf_counter()
                write_parts_dxf(path, parts, options)
                wrote = time.perf_counter() - begin
                read_back_parts(path, parts, options)
                begin = time.perf_counter()
                row = read_back_parts(path, parts, options)
                read = time.perf_counter() - begin
                size = path.stat().st_size
            what = f"{name}, cutter {tool:g} mm"
            yield f"{what}: largest difference read back", row.largest_difference, "mm"
            yield f"{what}: complaints", float(len(row.notes)), ""
            yield f"{what}: writing", 1000 * wrote, "ms"
            yield f"{what}: reading back by two readers", 1000 * read, "ms"
            yield f"{what}: size", size / 1000, "kB"
    yield "vertices with arcs, of those without", vertices / points, ""
    yield "largest error of area", 1e6 * float(np.max(areas)), "ppm"
