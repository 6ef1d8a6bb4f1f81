"""Predicted against weighed on the stores step."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from lofting.weights import WHOLE


def test_what_the_scales_said_is_typed_compared_floated_and_undone(window, qtbot):
    window.open_step(7)
    tab = window.step.weighed
    window.step.tabs.setCurrentWidget(tab)
    model, grid = tab.model, tab.grid
    names = [name for name, _ in model.rows]
    assert names[0] == WHOLE
    assert names[1:] == sorted(names[1:], key=lambda n: -dict(model.rows)[n])
    before = window.study.boat.weights.mass
    row = names.index("transom")
    grid.setCurrentIndex(model.index(row, 2))
    grid.setFocus()
    qtbot.keyClicks(grid, "5")
    editor = grid.findChild(QLineEdit)
    qtbot.keyClicks(editor, ",5")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: bool(window.desk.project.weighed), timeout=2000)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    predicted = dict(model.rows)["transom"]
    assert window.study.boat.weights.mass == pytest.approx(before + 5.5 - predicted)
    assert model.data(model.index(row, 3)) == f"{5.5 - predicted:+.2f}"
    assert "comes out" in tab.says.text()
    assert not model.setData(model.index(row, 2), "-1")
    assert not model.setData(model.index(row, 2), "heavy")
    assert window.desk.project.weighed[0].mass == 5.5
    assert model.setData(model.index(row, 2), "")
    assert window.desk.project.weighed == ()
    window.desk.undo()
    assert window.desk.project.weighed[0].mass == 5.5
    window.desk.undo()
    assert window.desk.project.weighed == ()
    assert not window.desk.unsaved
