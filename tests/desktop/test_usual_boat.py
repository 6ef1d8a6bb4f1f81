"""A table typed into an empty window becomes a boat at one press."""

from PySide6.QtCore import Qt

from app.project.laying import StockSheet
from lofting.findings import Severity

# A small vee-bottomed skiff of six stations in a blank table of nine: invented.
STATIONS = (400, 900, 1400, 1900, 2400, 2900)
TABLE = (
    ("keel", ((0,) * 6, (128, 40, 10, 6, 20, 48)), (160, 0, 250), (3350, 0, 82)),
    ("chine", ((136, 352, 484, 553, 576, 557), (222, 168, 136, 122, 125, 140)), (160, 0, 250),
     (3365, 516, 160)),
    ("sheer", ((238, 460, 598, 672, 696, 679), (559, 511, 480, 465, 464, 475)), (0, 10, 610),
     (3430, 632, 496)),
)  # fmt: skip


def typed_in(window):
    """Type the table, row by row, into the grid's own model."""
    window.steps[0].begin.buttons["type"].click()
    model = window.steps[0].model

    def put(row, column, figure):
        assert model.setData(model.index(row, column), str(figure))

    for column, x in enumerate(STATIONS, 1):
        put(1, column, x)
    last = model.columnCount() - 1
    for number, (_name, rows, bow, stern) in enumerate(TABLE):
        first = 2 + 3 * number
        for row, figures in enumerate(rows):
            for column, figure in enumerate(figures, 1):
                put(first + row, column, figure)
        for column, (x, half_breadth, height) in ((0, bow), (last, stern)):
            put(first, column, half_breadth)
            put(first + 1, column, height)
            put(first + 2, column, x)


def test_a_typed_table_becomes_a_boat_at_one_press(empty_window, qtbot):
    window = empty_window
    window.show()
    typed_in(window)
    window.open_step(2)
    usual = window.steps[2].usual
    assert usual.isVisible()
    plan = window.desk.project.plan
    qtbot.mouseClick(usual.button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    project, boat = window.desk.project, window.study.boat
    assert project.plan == plan
    assert [p.spec.name for p in boat.planking.planks] == ["bottom", "side"]
    assert {part.name for part in boat.parts.parts} >= {"bottom", "side", "transom"}
    assert boat.afloat.cases[0].attitude.floats
    assert not [f for f in window.study.findings if f.severity is Severity.STOP]
    assert not usual.isVisible()
    window.desk.undo()
    assert not window.desk.project.planking.planks


def test_what_the_builder_chose_stays(empty_window, qtbot):
    window = empty_window
    typed_in(window)
    project = window.desk.project
    chosen = project.sheets.model_copy(
        update={"clearance": 12.0, "stock": (StockSheet(thickness=6.0, length=3100.0),)}
    )
    window.desk.edit(project.model_copy(update={"sheets": chosen}), "own sheets")
    window.steps[2].usual.put_in()
    assert window.desk.project.planking.planks
    assert window.desk.project.sheets == chosen


def test_one_line_is_not_enough_and_is_told(empty_window):
    window = empty_window
    window.steps[0].begin.buttons["type"].click()
    window.steps[2].usual.put_in()
    assert not window.desk.project.planking.planks
    assert "not enough" in window.steps[2].usual.says.text()
