"""Papers of a real boat written and read back; a 6 m plank on A4; sizes and memory."""

import io
import os
import resource
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from app.pipeline import Boat


def _ms(work: Callable[[], object]) -> tuple[float, object]:
    begin = time.perf_counter()
    result = work()
    return round(1000 * (time.perf_counter() - begin), 1), result


def _whole(boat: Boat, folder: Path) -> Iterator[tuple[str, float, str]]:
    """Everything that `scrieve build` writes for the boat, then everything read back; seconds by
    the clock and of the processor, which differ on a machine that is busy otherwise."""
    from app.build.groups import GROUPS, write_groups
    from app.build.writing import make_heading
    from app.readback.folder import read_back

    heading = make_heading(boat, "2026-01-01")
    write_groups(boat, folder / "first", (), heading)
    for what, work in (
        ("papers and files", lambda: write_groups(boat, folder, GROUPS, heading)),
        ("papers and files read back", lambda: read_back(boat, folder)),
    ):
        begin, spent = time.perf_counter(), time.process_time()
        work()
        yield f"lake_skiff: all {what}", round(time.perf_counter() - begin, 2), "s"
        spent = round(time.process_time() - spent, 2)
        yield f"lake_skiff: all {what}, processor", spent, "s"
    for path in sorted(folder.rglob("*.*")):
        if path.suffix in (".pdf", ".dxf", ".csv"):
            yield f"lake_skiff: {path.name}", round(path.stat().st_size / 1024, 1), "kB"


def figures() -> Iterator[tuple[str, float, str]]:
    from app.drawing.shaded import shaded_view
    from app.drawing.views import lines_plan
    from app.papers.book import write_book
    from app.papers.choices import tile_rules
    from app.papers.frame import Heading
    from app.papers.marking_sheets import marking_sheets
    from app.papers.paper import find_paper
    from app.papers.tiles import full_size_tiles
    from app.papers.tiling import TileRules
    from app.pipeline import Pipeline
    from app.project import conversion
    from app.project.samples import load_sample
    from app.readback.pdf import check_tiles
    from app.readback.sheets import check_marking_sheets
    from lofting.lengths import Notation
    from nesting.marking import mark_blank
    from tests.generators.shop_parts import plank

    project = load_sample("lake_skiff")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 40})
    boat = Pipeline().run(project.model_copy(update={"sheets": sheets}))
    rules = conversion.marking_rules(project)
    blanks, parts = boat.nest.blanks, boat.laid_parts
    heading = Heading("lake_skiff", "1 January 2026", "abc1234")
    folder = Path(tempfile.mkdtemp())
    marking, tiles = folder / "marking-sheets.pdf", folder / "tiles.pdf"

    spent, _marks = _ms(lambda: [mark_blank(blank, parts, rules) for blank in blanks])
    yield "lake_skiff: all blanks marked", spent, "ms"
    spent, pages = _ms(lambda: marking_sheets(marking, heading, blanks, parts, boat.marks, rules))
    yield "lake_skiff: marking sheets", spent, "ms"
    yield "lake_skiff: marking sheets", float(pages), "pages"
    spent, pages = _ms(
        lambda: full_size_tiles(tiles, heading, boat.parts.parts, tile_rules(project))
    )
    yield "lake_skiff: full-size tiles on A4", spent, "ms"
    yield "lake_skiff: full-size tiles on A4", float(pages), "pages"
    yield "lake_skiff: a tile page", round(os.path.getsize(tiles) / pages / 1024, 2), "kB"
    spent, pages = _ms(lambda: write_book(io.BytesIO(), heading, boat))
    yield "lake_skiff: build book", spent, "ms"
    yield "lake_skiff: build book", float(pages), "pages"
    spent, row = _ms(lambda: check_tiles(tiles, boat.parts.parts, tile_rules(project)))
    yield "lake_skiff: tiles read back", spent, "ms"
    yield "lake_skiff: tiles, largest difference", round(row.largest_difference, 6), "mm"
    spent, row = _ms(
        lambda: check_marking_sheets(
            marking, blanks, parts, boat.marks, rules, Notation.MILLIMETRES
        )
    )
    yield "lake_skiff: marking sheets read back", spent, "ms"
    yield "lake_skiff: marking sheets lofted again", round(row.largest_difference, 4), "mm"
    yield (
        "lake_skiff: lines plan drawn",
        _ms(lambda: lines_plan(boat.lines, boat.planking))[0],
        "ms",
    )
    yield "lake_skiff: shaded view drawn", _ms(lambda: shaded_view(boat.planking))[0], "ms"

    yield from _whole(boat, Path(tempfile.mkdtemp()))
    large = [replace(plank(f"plank {k}", 6000.0)) for k in range(6)]
    rules6 = TileRules(find_paper("A4"))
    spent, pages = _ms(lambda: full_size_tiles(io.BytesIO(), heading, large, rules6))
    yield "six planks of 6 m: full-size tiles on A4", spent, "ms"
    yield "six planks of 6 m: full-size tiles on A4", float(pages), "pages"
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield "papers: peak memory", round(peak, 1), "MB"
