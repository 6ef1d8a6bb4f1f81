"""Blocks pasted from a spreadsheet into the tables of planks, loads, sheets."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.project.document import LoadItem


def pasted(window, qtbot, text, row=0):
    window.open_step(6)
    grid, model = window.step.loads.grid, window.step.loads.model
    grid.setCurrentIndex(model.index(row, 0))
    grid.setFocus()
    QGuiApplication.clipboard().setText(text)
    qtbot.keyClick(grid, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    return window.desk.project.load_cases[0].loads


def test_a_block_of_loads_is_one_edit_and_brings_its_own_rows(window, qtbot):
    before = window.desk.project
    there = len(before.load_cases[0].loads)
    lines = [f"sack {n}\t{20 + n},5\t{1000 + n}\t0\t300" for n in range(there + 2)]
    loads = pasted(window, qtbot, "\r\n".join(lines) + "\r\n")
    assert len(loads) == there + 2
    assert [load.name for load in loads] == [f"sack {n}" for n in range(there + 2)]
    assert loads[-1].mass == 20.0 + there + 1 + 0.5
    assert isinstance(loads[-1], LoadItem)
    window.desk.undo()
    assert window.desk.project == before


def test_cells_that_cannot_be_read_are_said_and_the_others_taken(window, qtbot):
    before = window.desk.project.load_cases[0].loads[0]
    loads = pasted(window, qtbot, "anchor\theavy\t900\nrope\t-4\t950")
    assert (loads[0].name, loads[0].mass, loads[0].x) == ("anchor", before.mass, 900.0)
    assert loads[1].x == 950.0
    said = window.words.text()
    assert "row 1" in said
    assert "'heavy' is not a number" in said
    assert "1 more" in said
