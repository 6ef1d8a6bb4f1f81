"""The very first figures of a blank table, typed at the keyboard as anybody would begin."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import QApplication, QLineEdit

from tests.desktop.test_plan_sheet import figure, go


def test_longer_figures_than_a_column_was_made_for_are_seen_whole(empty_window):
    """Feet and inches typed into a table that was begun in millimetres."""
    empty_window.steps[0].begin.buttons["type"].click()
    grid = go(empty_window, "sheer", "2", "half_breadth")
    column, figure_typed = grid.currentIndex().column(), "11-10-4+"
    grid.table.setData(grid.currentIndex(), figure_typed)
    font = QFont(grid.font())
    font.setBold(True)
    # the figure is drawn within margins of 4 and 6
    assert grid.columnWidth(column) >= QFontMetrics(font).horizontalAdvance(figure_typed) + 10
    wide = grid.columnWidth(column)
    grid.table.setData(grid.currentIndex(), "7")
    assert grid.columnWidth(column) == wide


@pytest.mark.parametrize("line", ["keel", "chine", "sheer"])
@pytest.mark.parametrize("coordinate", ["half_breadth", "height"])
def test_the_first_figure_of_a_line_is_taken_whole(empty_window, qtbot, line, coordinate):
    """All its digits: the cell must not be shut under the first of them."""
    empty_window.steps[0].begin.buttons["type"].click()
    empty_window.activateWindow()
    grid = go(empty_window, line, "1", coordinate)
    qtbot.keyClicks(grid, "1")
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    qtbot.keyClicks(editor, "23")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    desk = empty_window.desk
    qtbot.waitUntil(lambda: desk.history.present == desk.project, timeout=2000)
    assert figure(empty_window, line, "1", coordinate) == "123"
    empty_window.desk.undo()
    assert figure(empty_window, line, "1", coordinate) == ""
