"""Drawn against taped on the stores step, and blanks as taped on the sheets step."""

import pytest
from PySide6.QtCore import Qt

from app.desktop.findings import step_of


def test_what_the_tape_said_is_typed_and_told(window, qtbot):
    window.open_step(7)
    tab = window.step.taped
    window.step.tabs.setCurrentWidget(tab)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    model = tab.model
    assert model.names() == tuple(c.name for c in window.study.boat.check_lengths)
    check = model.checks[0]
    assert model.data(model.index(0, 1)) == f"{check.length:.0f}"  # no tape reads finer
    assert model.setData(model.index(0, 2), f"{check.length + 20.0:.1f}")
    assert model.data(model.index(0, 3)) == "+20"
    assert model.bold(check.name)
    qtbot.waitUntil(
        lambda: any(f.code == "out-of-true" for f in window.study.findings), timeout=20000
    )
    (told,) = (f for f in window.study.findings if f.code == "out-of-true")
    window.open_step(0)
    window.open_step(step_of(told))
    window.step.tabs.setCurrentIndex(0)
    window.step.go_to(told.where)
    assert window.step.tabs.currentWidget() is tab
    assert tab.grid.currentIndex() == model.index(0, 2)
    assert not model.setData(model.index(0, 2), "0")
    assert model.setData(model.index(0, 2), "")
    assert window.desk.project.taped == ()


def test_a_blank_is_taped_in_the_projects_own_lengths(empty_window, qtbot):
    """A project in feet, inches and eighths: 8-0-0 is 96 inches of 25.4 mm (ISO 31-1)."""
    window = empty_window
    window.files.open_first("marsh_canoe")
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    window.open_step(4)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    records = window.step.taped
    records.add()
    records.add()
    measured = window.desk.project.sheets.measured
    assert [m.blank for m in measured] == ["blank-1", "blank-2"]
    model = records.model
    heads = [model.headerData(k, Qt.Orientation.Horizontal) for k in range(3)]
    assert not any("mm" in head for head in heads)
    assert model.setData(model.index(1, 1), "8-0-0")
    assert window.desk.project.sheets.measured[1].length == pytest.approx(96 * 25.4)
