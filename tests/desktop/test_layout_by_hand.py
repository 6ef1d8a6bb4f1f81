"""The layout by mouse: any place on a part takes the part, rows of blanks use the paper."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.desktop.nest_canvas import _shelves
from app.drawing.value import Stroke, Text
from lofting.parts import MarkKind
from nesting.layout import Blank
from nesting.marking import lay


def laid_out(window, qtbot):
    window.files.open_first("stone_punt")
    window.open_step(4)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    return window.steps[4].canvas


def test_a_click_on_a_part_s_centreline_takes_the_part(window, qtbot):
    canvas = laid_out(window, qtbot)
    for blank in canvas.nest.blanks:
        for place in blank.placements:
            part = canvas.parts[place.part]
            marks = [m for m in part.marks if m.kind is MarkKind.CENTRE and len(m.points) > 1]
            if not marks:
                continue
            at = lay(marks[0].points, place).mean(axis=0) + canvas._corners[blank.name]
            pixel = canvas.view.to_screen(*at).toPoint()
            QTest.mouseClick(
                canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, pixel
            )
            assert canvas.chosen()[1].part == place.part
            assert place.part in window.steps[4].chosen.text()
            return
    raise AssertionError("no part with a centreline is laid out")


def test_every_part_of_a_layout_is_named_when_names_have_come(window, qtbot):
    canvas = laid_out(window, qtbot)
    canvas.repaint()
    qtbot.waitUntil(lambda: canvas.named, timeout=10000)
    texts = [item for item in canvas._names.drawing.items if isinstance(item, Text)]
    placed = [p.part for blank in canvas.nest.blanks for p in blank.placements]
    assert sorted(text.text for text in texts) == sorted(placed)
    assert all(text.key.startswith("place/") for text in texts)
    written = [item for item in canvas.whole().items if isinstance(item, Text | Stroke)]
    assert {text.text for text in texts} <= {t.text for t in written if isinstance(t, Text)}


def test_rows_of_blanks_are_broken_where_all_show_largest():
    def blank(name: str, length: float) -> Blank:
        return Blank(name, "okoume", 6.0, 1, length, length, 1220.0, (), ())

    def scale(corners, blanks, wide, high):
        x = max(corners[b.name][0] + b.length for b in blanks)
        y = max(corners[b.name][1] + b.width for b in blanks)
        low = min(corners[b.name][1] for b in blanks)
        return min(wide / x, high / (y - low))

    blanks = [blank("a", 4832.0), blank("b", 2440.0), blank("c", 4808.0), blank("d", 4808.0)]
    blanks.append(blank("e", 2440.0))
    found = scale(_shelves(blanks, 727 / 555), blanks, 727, 555)
    gap = 0.24 * 1220.0
    single = {b.name: (0.0, -n * (1220.0 + gap)) for n, b in enumerate(blanks)}
    # by hand: a and b, c, d and e in three rows; the broadest row fills the paper's breadth
    assert found == pytest.approx(727 / (4832.0 + gap + 2440.0))
    assert found > scale(single, blanks, 727, 555)
    spans = [
        (np.array(corner), np.array(corner) + (b.length, b.width))
        for b, corner in ((b, _shelves(blanks, 1.3)[b.name]) for b in blanks)
    ]
    for number, (low, high) in enumerate(spans):
        for other_low, other_high in spans[:number]:
            assert (low >= other_high).any() or (high <= other_low).any()


def test_a_part_put_on_another_stays_marked_while_the_others_are_laid_round_it(window, qtbot):
    canvas = laid_out(window, qtbot)
    blank = max(canvas.nest.blanks, key=lambda b: len(b.placements))
    first, second = blank.placements[:2]
    window.steps[4].move_part(blank.name, replace(first, x=second.x, y=second.y, pinned=True))
    assert [(p.part, p.copy) for _, p in canvas._clashing] == [(first.part, first.copy)]
    assert "lie over each other" in window.steps[4].hand.text()
    window.desk.undo()
    window.steps[4].show_boat(window.study.boat)
    assert canvas._clashing == []


def test_the_layout_is_told_one_plywood_a_line(window, qtbot):
    laid_out(window, qtbot)
    lines = window.steps[4].result.text().split("<br>")
    thicknesses = {b.thickness for b in window.steps[4].canvas.nest.blanks}
    told = {t for t in thicknesses for line in lines if line.startswith(f"okoume {t:g} mm: ")}
    assert told == thicknesses
    assert len(lines) == 1 + len(thicknesses)
