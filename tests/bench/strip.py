"""Density of strip packing: `python -m tests.bench strip FILE --seconds S --seed K` packs one
instance and prints one JSON line; without a file, the invented boat-like set and, where the
environment variable NEST_INSTANCES names a folder of instances, those too.

Instances are JSON: name, strip_height, items of {id, demand, allowed_orientations in degrees,
shape: {type: simple_polygon, data: [[x, y] ...]}}, min_separation if any. Published best densities
are those of Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329), runs of 20 minutes.
"""

import argparse
import json
import os
import time
from collections.abc import Iterator
from math import degrees, radians
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from nesting.strip import StripItem, pack_strip
from nesting.strip.shrinking import pack_by_driving_apart

BOATLIKE = Path(__file__).parents[1] / "data" / "boatlike.json"
PUBLISHED = {
    "albano": 89.82,
    "jakobs2": 87.73,
    "shapes0": 69.98,
    "shirts": 90.92,
    "swim": 79.83,
    "trousers": 92.62,
}


def read_instance(path: Path) -> tuple[dict, list[StripItem], float]:
    """The instance's own dict, its items, and the area of all copies."""
    data = json.loads(path.read_text())
    items = [
        StripItem(
            str(item["id"]),
            np.array(item["shape"]["data"], dtype=float),
            int(item.get("demand", 1)),
            tuple(radians(a) for a in item.get("allowed_orientations") or (0.0,)),
        )
        for item in data["items"]
    ]
    return data, items, sum(Polygon(i.outline).area * i.demand for i in items)


def main(words: list[str]) -> int:
    """Pack one instance and print the packing as JSON."""
    reader = argparse.ArgumentParser(prog="tests.bench strip")
    reader.add_argument("file", type=Path)
    reader.add_argument("--seconds", type=float, default=10.0)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--workers", type=int, default=2)
    asked = reader.parse_args(words)
    data, items, area = read_instance(asked.file)
    begin = time.perf_counter()
    packed = pack_strip(
        items,
        float(data["strip_height"]),
        seconds=asked.seconds,
        seed=asked.seed,
        separation=float(data.get("min_separation") or 0.0),
        workers=asked.workers,
    )
    line = {
        "name": data["name"],
        "length": packed.length,
        "density": 100.0 * area / (packed.length * data["strip_height"]),
        "seconds": round(time.perf_counter() - begin, 3),
        "placements": [
            {"id": p.name, "rotation_deg": degrees(p.rotation), "x": p.x, "y": p.y}
            for p in packed.placements
        ],
    }
    print(json.dumps(line))
    return 0


def figures() -> Iterator[tuple[str, float, str]]:
    folder = os.environ.get("NEST_INSTANCES")
    paths = [BOATLIKE]
    if folder:
        paths += sorted(p for p in Path(folder).glob("*.json") if p.stem != "boatlike")
    for path in paths:
        data, items, area = read_instance(path)
        width, gap = float(data["strip_height"]), float(data.get("min_separation") or 0.0)
        packed = pack_strip(items, width, seconds=10.0, seed=1, separation=gap)
        own = pack_by_driving_apart(items, width, seconds=20.0, seed=1, separation=gap)
        name = data["name"]
        yield f"{name}: length, library 10 s", round(packed.length, 1), "units"
        yield f"{name}: density, library 10 s", round(100 * area / packed.length / width, 2), "%"
        yield f"{name}: length, our own 20 s", round(own.length, 1), "units"
        yield f"{name}: density, our own 20 s", round(100 * area / own.length / width, 2), "%"
        if name in PUBLISHED:
            yield f"{name}: density, published best", PUBLISHED[name], "%"
