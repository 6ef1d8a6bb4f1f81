"""Prices on the stores step."""

from PySide6.QtCore import Qt


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
