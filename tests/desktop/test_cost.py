"""Prices on the stores step."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit


def test_a_price_is_typed_summed_and_taken_out(window, qtbot):
    window.open_step(7)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    tab = window.step.costs
    window.step.tabs.setCurrentWidget(tab)
    model = tab.model
    row = model.names().index("epoxy, mixed")
    bought = model.rows[row].bought
    assert model.setData(model.index(row, 3), "")
    before = len([line for line in model.rows if line.price is None])
    assert model.setData(model.index(row, 3), "25,5")
    assert model.data(model.index(row, 4)) == f"{25.5 * bought:.2f}"
    assert len([line for line in model.rows if line.price is None]) == before - 1
    assert "The stores cost" in tab.says.text()
    assert not model.setData(model.index(row, 3), "-3")
    assert not model.setData(model.index(row, 3), "dear")
    assert model.data(model.index(row, 4), Qt.ItemDataRole.TextAlignmentRole) is not None
    assert model.setData(model.index(row, 3), "")
    assert "epoxy, mixed" not in {p.item for p in window.desk.project.prices}
    window.desk.undo()
    assert {p.item: p.price for p in window.desk.project.prices}["epoxy, mixed"] == 25.5


def test_an_editor_left_as_it_was_writes_no_price(window, qtbot):
    """The stock's price is shown in the cell; leaving the cell must not make it the builder's own,
    or a change of the stock's would go unseen."""
    window.open_step(7)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    model = window.step.costs.model
    row = next(k for k, line in enumerate(model.rows) if line.unit == "sheets")
    before = window.desk.project
    shown = model.data(model.index(row, 3), Qt.ItemDataRole.EditRole)
    assert float(shown) > 0.0
    assert model.setData(model.index(row, 3), shown)
    assert window.desk.project is before
    assert not model.setData(model.index(row, 3), "2e9")
    assert window.desk.project is before


def test_the_sheets_step_reckons_with_the_price_typed(window, qtbot):
    window.open_step(7)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    model = window.step.costs.model
    rows = [k for k, line in enumerate(model.rows) if line.unit == "sheets"]
    for row in rows:
        assert model.setData(model.index(row, 3), "100")
    bought = sum(model.rows[row].bought for row in rows)
    window.open_step(4)
    assert f"Plywood costs {100.0 * bought:.2f}" in window.step.result.text()


def test_prices_are_typed_down_the_list_by_keyboard(window, qtbot):
    """A price, Enter, Down and the next: what is worked out meanwhile takes no editor away."""
    window.open_step(7)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    tab = window.step.costs
    window.step.tabs.setCurrentWidget(tab)
    grid, model = tab.grid, tab.model
    row = model.names().index("timber 20 x 30 mm, inwale")
    resets = []
    model.modelReset.connect(lambda: resets.append(True))
    grid.setFocus()
    grid.setCurrentIndex(model.index(row, 3))
    for keys in ("2.5", "3"):
        qtbot.keyClicks(grid, keys[0])
        editor = grid.viewport().findChild(QLineEdit)
        assert editor is not None
        qtbot.keyClicks(editor, keys[1:])
        qtbot.keyClick(editor, Qt.Key.Key_Return)
        qtbot.keyClick(grid, Qt.Key.Key_Down)
    typed = {p.item: p.price for p in window.desk.project.prices}
    assert typed["timber 20 x 30 mm, inwale"] == 2.5
    assert typed["timber 20 x 30 mm, gunwale"] == 3.0
    qtbot.waitUntil(lambda: window.study.boat.project is window.desk.project, timeout=20000)
    assert resets == []
    assert grid.currentIndex() == model.index(row + 2, 3)
    window.desk.undo()
    assert model.data(model.index(row + 1, 3)) == ""
    window.desk.redo()
    assert model.data(model.index(row + 1, 3)) == "3"
    grid.setCurrentIndex(model.index(row + 1, 3))
    qtbot.keyClick(grid, Qt.Key.Key_Delete)
    assert [p for p in window.desk.project.prices if "gunwale" in p.item] == []
