"""Beginning from nothing, pasted tables with questions, flat panels, own outlines from a file."""

from itertools import pairwise

import ezdxf
import pytest
from PySide6.QtWidgets import QDialogButtonBox

from app.desktop.pasting import PasteDialog
from app.project.document import FlatPanelSheet
from app.project.editing import cell, put

BLOCK = "Station\t1\t2\t3\nHeight of sheer\t1.658\t612\t578\nHalf-breadth sheer\t242\t427\t568\n"


def test_an_empty_desk_offers_ways_to_begin(empty_window):
    step = empty_window.steps[0]
    assert step.left.currentWidget() is step.begin
    step.begin.buttons["type"].click()
    assert step.left.currentWidget() is step.tabs
    assert [line.role for line in empty_window.desk.project.plan.lines] == [
        "keel",
        "chine",
        "sheer",
    ]
    empty_window.desk.undo()
    assert step.left.currentWidget() is step.begin


def test_a_sample_is_one_click_away(empty_window, qtbot):
    empty_window.steps[0].begin.buttons["stone_punt"].click()
    assert empty_window.desk.project.name == "stone_punt"
    assert empty_window.desk.path is None, "a copy: saving asks for a file"


def test_a_pasted_block_is_questioned_before_it_is_taken(window):
    before = window.desk.project
    dialog = PasteDialog(window.desk, BLOCK, None, window)
    ok = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
    assert not ok.isEnabled()
    (question,) = dialog.reading.questions
    assert "1.658" in question.text
    dialog.accept()
    assert window.desk.project == before, "nothing is taken while a question stands"
    dialog.answer(question.key, "thousands")
    assert ok.isEnabled()
    dialog.accept()
    plan = window.desk.project.plan
    assert cell(plan, 2, "1", "height") == "1658"
    assert cell(plan, 2, "3", "half_breadth") == "568"
    window.desk.undo()
    assert window.desk.project == before


@pytest.fixture
def dory(empty_window, qtbot):
    empty_window.files.open_first("shed_dory")
    qtbot.waitUntil(empty_window.study.geometry_fresh, timeout=20000)
    return empty_window


def test_a_panels_ordinate_is_typed_drawn_and_undone(dory, qtbot):
    step = dory.steps[0]
    assert step.tabs.currentWidget() is step.panels
    assert step.views.side.drawing.items
    panel = dory.desk.project.plan.panels[1]
    point = panel.places[4].label
    line = f"{panel.name}, upper edge"
    assert step.panels.go(line, point)
    model = step.panels.model
    model.setData(step.panels.grid.currentIndex(), "655")
    assert dory.desk.project.plan.panels[1].upper.ordinates[4] == "655"
    qtbot.waitUntil(dory.study.lines_fresh, timeout=5000)
    lines = dory.study.boat.panel_lines[1]
    found = next(ln for ln in lines.lines if ln.name == line)
    assert float(found.typed[found.labels.index(point), 2]) == 655.0
    dory.desk.undo()
    assert dory.desk.project.plan.panels[1] == panel


def test_edges_of_flat_panels_lie_on_the_batten_desk(dory):
    dory.open_step(1)
    step = dory.step
    panel = dory.desk.project.plan.panels[0].name
    step.go_to({"line": f"{panel}, upper edge", "point": "600"})
    assert step.picked_line == f"{panel}, upper edge"
    pin = step.points.index(step.grid.currentIndex().row(), step.points.PIN)
    assert step.points.setData(pin, 2, role=10)
    marks = dory.desk.project.plan.panels[0].upper.marks
    assert [(m.point, m.pinned) for m in marks] == [("600", True)]
    dory.open_step(3)
    assert dory.step.seam.count() == len(dory.desk.project.plan.seams)


def test_edges_of_all_flat_panels_are_faired_together(dory, qtbot):
    dory.open_step(1)
    step = dory.step
    step.fairing.spring_all()
    qtbot.waitUntil(dory.study.geometry_fresh, timeout=20000)
    faired = [line for lines in dory.study.boat.panel_lines for line in lines.lines]
    assert len(faired) == len(dory.desk.project.fairing.fair) >= 4
    assert all(line.moves for line in faired)
    assert {line.name for line in dory.study.boat.rounded} == {line.name for line in faired}
    assert "no-such-line" not in {f.code for f in dory.study.findings}
    assert step.moves.tree.topLevelItemCount() == sum(len(line.moves) for line in faired)
    dory.desk.undo()


def test_names_of_places_on_the_plots_do_not_run_into_each_other(dory, qtbot):
    dory.open_step(1)
    plot = dory.step.batten.bend
    qtbot.waitUntil(lambda: plot.item.vb.width() > 100, timeout=5000)
    plot.grab()  # names find their place when they are painted
    boxes = [
        label.mapRectToScene(label.boundingRect()) for _, label in plot.named if label.isVisible()
    ]
    assert len(boxes) >= 3
    edges = sorted((box.left(), box.right()) for box in boxes)
    assert all(one[1] <= other[0] + 1.0 for one, other in pairwise(edges))


def test_outlines_of_a_file_become_own_parts(window, tmp_path):
    path = tmp_path / "knee.dxf"
    document = ezdxf.new(units=4)
    document.modelspace().add_lwpolyline([(0, 0), (240, 0), (0, 180)], close=True)
    document.saveas(path)
    outlines = window.steps[3].outlines
    before = window.desk.project.parts.outlines
    outlines.take_file(path)
    (fresh,) = window.desk.project.parts.outlines[len(before) :]
    xs = [x for x, _ in fresh.outline]
    ys = [y for _, y in fresh.outline]
    assert max(xs) - min(xs) == pytest.approx(240.0, abs=0.01)
    assert max(ys) - min(ys) == pytest.approx(180.0, abs=0.01)


def test_a_point_that_cannot_be_read_is_named(window):
    outlines = window.steps[3].outlines
    outlines.records.add()
    outlines.records.grid.setCurrentIndex(
        outlines.records.model.index(outlines.records.model.rowCount() - 1, 0)
    )
    kept = window.desk.project.parts.outlines[-1]
    outlines.points.setPlainText("0 0\n200 x\n0 100")
    assert not outlines.take()
    assert "Line 2" in outlines.trouble.text()
    assert window.desk.project.parts.outlines[-1] == kept
    outlines.points.setPlainText("0 0\n200,5 0\n0 100")
    assert outlines.take()
    assert window.desk.project.parts.outlines[-1].outline[1] == (200.5, 0.0)


def test_a_drawing_goes_out_at_true_size(window, tmp_path):
    canvas = window.steps[0].views.side
    canvas.write(tmp_path / "profile.svg")
    text = (tmp_path / "profile.svg").read_text(encoding="utf-8")
    assert "mm" in text.split(">")[0] + text.split(">")[1]


def test_a_panel_without_ordinates_is_named_and_the_others_are_drawn(empty_window, qtbot):
    window = empty_window
    window.files.open_first("shed_dory")
    plan = window.desk.project.plan
    bare = FlatPanelSheet(name="patch", thickness=6.0)
    window.desk.edit(put(window.desk.project, ("plan", "panels"), (*plan.panels, bare)), "patch")
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    named = [f for f in window.study.findings if f.where.get("panel") == "patch"]
    assert any(f.code == "edge-missing" for f in named)
    assert {p.name for p in window.study.boat.parts.parts} >= {p.name for p in plan.panels}
    panels = window.steps[0].panels
    panels.show_panel(len(plan.panels))
    assert window.steps[0].isVisible()


def test_the_grid_of_panels_is_shut_where_there_is_no_panel(empty_window):
    panels = empty_window.steps[0].panels
    assert not panels.grid.isEnabled()
    panels.grid.insert_station(after=True)
    assert empty_window.desk.project.plan.panels == ()


def test_a_spreader_is_typed_and_holds_the_boat(dory, qtbot):
    step = dory.steps[0]
    step.go_to({"spreader": "wanted somewhere"})
    assert step.tabs.currentWidget() is step.panels
    records = step.panels.spreaders
    assert step.panels.records.currentWidget().isAncestorOf(records)
    before = dory.desk.project
    number = len(before.plan.spreaders)
    records.add()
    column = [c.name for c in records.model.columns]
    for name, text in (("name", "fore spreader"), ("x", "550"), ("length", "500")):
        assert records.model.setData(records.model.index(number, column.index(name)), text)
    made = dory.desk.project.plan.spreaders[number]
    assert (made.panel, made.edge, made.across) == ("side", "upper edge", True)
    qtbot.waitUntil(
        lambda: (
            (boat := dory.study.boat.panel_boat) is not None
            and len(boat.sprung.spreaders) == number + 1
        ),
        timeout=20000,
    )
    stick = dory.study.boat.panel_boat.sprung.spreaders[number]
    assert (stick.name, stick.length) == ("fore spreader", 500.0)
    dory.open_step(3)
    shown = dory.step.together.table
    rows = [shown.topLevelItem(n).text(0) for n in range(shown.topLevelItemCount())]
    assert "fore spreader" in rows
    step.go_to({"spreader": "fore spreader"})
    assert records.grid.currentIndex().row() == number
    dory.desk.edit(before, "as it was")
