"""The very first figures of a blank table, typed at the keyboard as anybody would begin."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit

from tests.desktop.test_plan_sheet import figure, go


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
