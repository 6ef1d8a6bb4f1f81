"""Laws of marking and tiling on random edges: what is printed lofts back to what it says."""

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.papers.frame import Heading
from app.papers.ordinates import ordinates_csv
from app.papers.paper import PAPERS
from app.papers.tiles import full_size_tiles
from app.papers.tiling import TileRules, tile_part
from app.readback.pdf import check_tiles
from app.readback.tables import check_ordinates
from lofting.lengths import Notation
from lofting.parts import FlatPart, Group
from nesting.layout import Blank, Placement
from nesting.marking import MarkingRules, mark_blank

sizes = st.floats(0.0, 1.0)


def wavy(length: float, amplitudes: list[float], lift: float) -> FlatPart:
    """A part with one curved edge of a few waves and three straight ones."""
    x = np.linspace(0.0, length, 181)
    y = sum(
        a * length * 0.03 / (k * k) * np.sin(k * np.pi * x / length + 7.0 * a)
        for k, a in enumerate(amplitudes, 1)
    )
    y = y - y.min()
    high = float(y.max()) + 60.0 + lift
    outline = np.vstack([np.column_stack([x, y]), [[length, high], [0.0, high]]])
    return FlatPart("wavy", Group.OWN, 6.0, "okoume", outline, (0, 180, 181, 182))


@settings(max_examples=25, deadline=None)
@given(
    st.floats(150.0, 5000.0),
    st.lists(sizes, min_size=3, max_size=3),
    st.floats(0.0, 300.0),
    st.floats(0.0, 2 * np.pi),
    st.booleans(),
    st.sampled_from([(0.5, 200.0), (1.0, 150.0), (1.5875, 203.2)]),
)
def test_ordinates_loft_back_to_the_departure_they_state(
    tmp_path_factory: pytest.TempPathFactory,
    length: float,
    amplitudes: list[float],
    lift: float,
    turn: float,
    mirrored: bool,
    marking: tuple[float, float],
) -> None:
    part = wavy(length, amplitudes, lift)
    rules = MarkingRules(marking[1], marking[0], 0.5)
    place = Placement("wavy", 0, 0.0, 0.0, turn, mirrored)
    low = place.lay(part.outline).min(axis=0)
    place = Placement("wavy", 0, 10.0 - low[0], 10.0 - low[1], turn, mirrored)
    size = place.lay(part.outline).max(axis=0) + max(250.0, marking[1])
    blank = Blank("b", "okoume", 6.0, 1, size[0], size[0], size[1], (), (place,))
    marks = mark_blank(blank, [part], rules)
    path: Path = tmp_path_factory.mktemp("marks") / "ordinates.csv"
    path.write_text(ordinates_csv([marks], Notation.MILLIMETRES, marking[0], {}), encoding="utf-8")
    row = check_ordinates(path, [blank], [part], [marks], rules, Notation.MILLIMETRES)
    assert row.good, row
    assert row.largest_difference <= max(marks.departure, 0.75 * marking[0]) + 0.02


@settings(max_examples=12, deadline=None)
@given(
    st.floats(150.0, 2500.0),
    st.lists(sizes, min_size=3, max_size=3),
    st.sampled_from(sorted(PAPERS)),
    st.floats(0.0, 15.0),
    st.floats(97.0, 103.0),
    st.floats(97.0, 103.0),
)
def test_tiles_of_any_paper_join_to_the_part(
    tmp_path_factory: pytest.TempPathFactory,
    length: float,
    amplitudes: list[float],
    paper: str,
    overlap: float,
    x: float,
    y: float,
) -> None:
    part = wavy(length, amplitudes, 40.0)
    rules = TileRules(PAPERS[paper], overlap=overlap, measured_x=x, measured_y=y)
    path: Path = tmp_path_factory.mktemp("tiles") / "tiles.pdf"
    full_size_tiles(path, Heading("trial", "1 January 2026", "a"), [part], rules)
    row = check_tiles(path, [part], rules)
    assert row.good, row


@settings(max_examples=30, deadline=None)
@given(st.floats(150.0, 6000.0), st.lists(sizes, min_size=3, max_size=3), st.floats(0.0, 20.0))
def test_tiles_cover_the_part(length: float, amplitudes: list[float], overlap: float) -> None:
    part = wavy(length, amplitudes, 0.0)
    tiled = tile_part(part, TileRules(PAPERS["a4"], overlap=overlap))
    for px, py in part.outline[::9]:
        assert any(
            a - 1e-6 <= px <= c + 1e-6 and b - 1e-6 <= py <= d + 1e-6
            for a, b, c, d in (tile.window for tile in tiled.tiles)
        )


def test_a_stream_serves_as_well_as_a_file() -> None:
    part = wavy(300.0, [0.5, 0.5, 0.5], 0.0)
    out = io.BytesIO()
    pages = full_size_tiles(out, Heading("t", "d", "r"), [part], TileRules(PAPERS["a4"]))
    assert pages >= 3
    assert out.getvalue().startswith(b"%PDF")
