"""Typing the plan's table: every keystroke redraws, every edit undoes, by keyboard alone."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QLineEdit

from app.project.editing import cell, line_number


def figure(window, line, point, coordinate):
    plan = window.desk.project.plan
    return cell(plan, line_number(plan, line), point, coordinate)


def go(window, line, point, coordinate):
    grid = window.steps[0].grid
    assert grid.go(line, point, coordinate)
    grid.setFocus()
    return grid


def drawn_height(window, line, point):
    lines = window.study.boat.lines
    found = lines.line(line)
    return float(found.typed[found.labels.index(point), 2])


def test_typing_over_a_cell_changes_it_redraws_and_undoes(window, qtbot):
    grid = go(window, "sheer", "4", "height")
    before = figure(window, "sheer", "4", "height")
    qtbot.keyClicks(grid, "5")
    editor = grid.findChild(QLineEdit)
    qtbot.keyClicks(editor, "60,5")
    assert figure(window, "sheer", "4", "height") == "560,5"
    assert not window.desk.unsaved, "still being typed: no edit yet"
    qtbot.waitUntil(lambda: drawn_height(window, "sheer", "4") == 560.5, timeout=5000)
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.desk.unsaved, timeout=2000)
    assert window.desk.history.past[-1].project.plan != window.desk.project.plan
    window.desk.undo()
    assert figure(window, "sheer", "4", "height") == before
    window.desk.redo()
    assert figure(window, "sheer", "4", "height") == "560,5"


def test_escape_forgets_what_was_typed(window, qtbot):
    grid = go(window, "chine", "3", "half_breadth")
    before = figure(window, "chine", "3", "half_breadth")
    qtbot.keyClicks(grid, "9")
    editor = grid.findChild(QLineEdit)
    assert figure(window, "chine", "3", "half_breadth") == "9"
    qtbot.keyClick(editor, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: figure(window, "chine", "3", "half_breadth") == before, timeout=2000)
    assert not window.desk.history.past


def test_enter_goes_down_and_arrows_move(window, qtbot):
    grid = go(window, "sheer", "4", "half_breadth")
    qtbot.keyClick(grid, Qt.Key.Key_Return)
    assert grid.current_place().coordinate == "height"
    qtbot.keyClick(grid, Qt.Key.Key_Right)
    assert grid.current_place().point == "5"


def test_a_bare_block_is_pasted_at_the_cursor_as_one_edit(window, qtbot):
    grid = go(window, "sheer", "2", "half_breadth")
    QGuiApplication.clipboard().setText("431\t570\n613\t579\n")
    qtbot.keyClick(grid, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert figure(window, "sheer", "2", "half_breadth") == "431"
    assert figure(window, "sheer", "3", "half_breadth") == "570"
    assert figure(window, "sheer", "2", "height") == "613"
    assert figure(window, "sheer", "3", "height") == "579"
    assert len(window.desk.history.past) == 1


def test_copied_cells_come_out_as_a_spreadsheet_takes_them(window, qtbot):
    grid = go(window, "sheer", "2", "half_breadth")
    first = grid.currentIndex()
    second = grid.table.index(first.row() + 1, first.column() + 1)
    grid.selectionModel().select(second, grid.selectionModel().SelectionFlag.Select)
    grid.selectAll()
    qtbot.keyClick(grid, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    rows = QGuiApplication.clipboard().text().split("\n")
    assert len(rows) == grid.table.rowCount()
    assert all(row.count("\t") == grid.table.columnCount() - 1 for row in rows)


def test_fill_across_repeats_the_first_figure(window, qtbot):
    grid = go(window, "keel", "2", "height")
    start = grid.currentIndex()
    for across in range(1, 3):
        index = grid.table.index(start.row(), start.column() + across)
        grid.selectionModel().select(index, grid.selectionModel().SelectionFlag.Select)
    grid.fill_across()
    value = figure(window, "keel", "2", "height")
    assert figure(window, "keel", "3", "height") == value
    assert figure(window, "keel", "4", "height") == value


def test_stations_are_inserted_and_removed_with_their_figures(window):
    grid = go(window, "keel", "3", "height")
    kept = figure(window, "keel", "3", "height")
    count = len(window.desk.project.plan.stations)
    grid.insert_station()
    plan = window.desk.project.plan
    assert len(plan.stations) == count + 1
    assert plan.stations[2].x == ""
    assert figure(window, "keel", "3", "height") == kept
    go(window, "keel", plan.stations[2].label, "height")
    grid.remove_station()
    assert len(window.desk.project.plan.stations) == count
    assert window.desk.project.plan == window.desk.history.past[0].project.plan


def test_a_figure_that_cannot_be_read_is_marked_and_the_rest_goes_on(window, qtbot):
    grid = go(window, "chine", "5", "height")
    window.steps[0].model.setData(grid.currentIndex(), "15x")
    place = grid.current_place()
    assert "x" in window.steps[0].model.trouble(place)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=10000)
    found = [f for f in window.study.findings if f.code == "unreadable-cell"]
    assert [f.where["point"] for f in found] == ["5"]
    assert window.study.boat.lines is not None


def test_the_turned_table_holds_the_same_cells(window):
    step = window.steps[0]
    rows, columns = step.model.rowCount(), step.model.columnCount()
    step.model.turn()
    assert (step.model.rowCount(), step.model.columnCount()) == (columns, rows)
    index = step.model.index_of("sheer", "4", "height")
    assert step.model.data(index) == figure(window, "sheer", "4", "height")


def test_marks_are_kept_with_the_point(window):
    grid = go(window, "chine", "4", "half_breadth")
    grid.toggle_knuckle()
    grid.toggle_pin()
    marks = window.desk.project.plan.lines[1].marks
    assert [(m.point, m.knuckle, m.pinned) for m in marks] == [("4", True, True)]
    grid.toggle_knuckle()
    grid.toggle_pin()
    assert window.desk.project.plan.lines[1].marks == ()


def test_a_point_dragged_in_the_profile_changes_its_cell(window):
    step = window.steps[0]
    step.views.side.dropped.emit("sheer/4/height", 1720.0, 601.0)
    assert figure(window, "sheer", "4", "height") == "601"
    step.views.ends.dropped.emit("sheer/4/both", -655.0, 598.0)
    assert figure(window, "sheer", "4", "half_breadth") == "655"
    assert figure(window, "sheer", "4", "height") == "598"


def test_a_renamed_line_is_renamed_everywhere(window):
    model = window.steps[0].line_records.model
    assert model.setData(model.index(2, 0), "rail")
    project = window.desk.project
    assert project.plan.lines[2].name == "rail"
    named = [p.upper for p in project.planking.planks] + [t.line for t in project.timbers]
    assert "rail" in named
    assert "sheer" not in named


def test_lines_share_no_name(window):
    model = window.steps[0].line_records.model
    assert not model.setData(model.index(1, 0), "keel")
    assert window.desk.project.plan.lines[1].name == "chine"


def press(qtbot, grid, key, *modifiers):
    held = Qt.KeyboardModifier.NoModifier
    for modifier in modifiers:
        held |= modifier
    qtbot.keyClick(grid, key, held)


def test_every_edit_of_the_table_by_keys_is_one_step_that_undoes(window, qtbot):
    control, shift = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
    grid = go(window, "sheer", "4", "height")
    stations = len(window.desk.project.plan.stations)
    edits = [
        ((Qt.Key.Key_Delete,), lambda p: figure(window, "sheer", "4", "height") == ""),
        ((Qt.Key.Key_I, control), lambda p: len(p.stations) == stations + 1),
        ((Qt.Key.Key_I, control, shift), lambda p: len(p.stations) == stations + 1),
        ((Qt.Key.Key_Delete, control), lambda p: len(p.stations) == stations - 1),
        ((Qt.Key.Key_K, control), lambda p: p.lines[line_number(p, "sheer")].marks[-1].knuckle),
        ((Qt.Key.Key_P, control), lambda p: p.lines[line_number(p, "sheer")].marks[-1].pinned),
    ]
    for keys, done in edits:
        grid = go(window, "sheer", "4", "height")
        before, steps = window.desk.project, len(window.desk.history.past)
        press(qtbot, grid, *keys)
        assert done(window.desk.project.plan), keys
        assert len(window.desk.history.past) == steps + 1, keys
        window.desk.undo()
        assert window.desk.project == before, keys
        window.desk.redo()
        assert done(window.desk.project.plan), keys
        window.desk.undo()


def test_filling_and_cutting_undo(window, qtbot):
    control = Qt.KeyboardModifier.ControlModifier
    if window.steps[0].model.turned:
        window.steps[0].model.turn()
    grid = go(window, "sheer", "3", "height")
    model, before = grid.model(), window.desk.project
    here = grid.currentIndex()
    for key in (Qt.Key.Key_R, Qt.Key.Key_X):
        go(window, "sheer", "3", "height")
        selection = grid.selectionModel()
        for across in (1, 2):
            index = model.index(here.row(), here.column() + across)
            selection.select(index, selection.SelectionFlag.Select)
        press(qtbot, grid, key, control)
        texts = [figure(window, "sheer", point, "height") for point in ("3", "4", "5")]
        assert len(set(texts)) == 1
        window.desk.undo()
        assert window.desk.project == before
