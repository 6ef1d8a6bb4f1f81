"""Planks split in the planking step; bevels, edges and timber shown in the parts step."""

from PySide6.QtCore import Qt

from app.desktop.shaded_canvas import Legend
from app.drawing.part import part_drawing
from app.drawing.value import Text
from app.project.document import SplitChoice


def rows(table):
    """Texts of a table, row by row."""
    return [
        [table.topLevelItem(row).text(column) for column in range(table.columnCount())]
        for row in range(table.topLevelItemCount())
    ]


def test_a_plank_is_split_in_the_table_changed_and_undone(window, qtbot):
    window.open_step(2)
    step, desk = window.step, window.desk
    before = desk.project
    step.splits.add()
    assert desk.project.planking.splits == (SplitChoice(plank="bottom"),)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    shown = [row[0] for row in rows(step.result)]
    assert shown == ["bottom lower strake", "bottom upper strake", "side"]
    model = step.splits.model
    assert model.setData(model.index(0, 1), "0.3", Qt.ItemDataRole.EditRole)
    assert desk.project.planking.splits[0].stem == 0.3
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    names = {part.name for part in window.study.boat.parts.parts}
    assert {"bottom lower strake", "bottom upper strake", "side"} <= names
    desk.undo()
    desk.undo()
    assert desk.project == before


def test_bevels_and_edges_are_listed_and_drawn(window):
    window.open_step(3)
    step, boat = window.step, window.study.boat
    names = [part.name for part in boat.parts.parts]
    step.list.setCurrentRow(names.index("side"))
    listed = rows(step.bevels)
    edges = [row[0] for row in listed if row[0]]
    assert edges == [run.edge for run in boat.parts.part("side").bevels]
    assert {"lower edge", "stem end", "transom end"} <= set(edges)
    assert any("under" in row[2] for row in listed)
    written = [item.text for item in step.canvas.drawing.items if isinstance(item, Text)]
    assert any("under" in words for words in written)
    step.show_bevels.setChecked(False)
    written = [item.text for item in step.canvas.drawing.items if isinstance(item, Text)]
    assert not any("under" in words for words in written)
    step.show_bevels.setChecked(True)
    seams = rows(step.all_seams)
    assert len(seams) == len(boat.planking.seams) + len(boat.parts.end_seams)
    assert {row[0] for row in seams} >= {"keel", "chine", "stem", "transom"}
    assert [row[0] for row in rows(step.timber)] == [cut.name for cut in boat.parts.timbers]


def test_writing_on_parts_stays_clear_of_edges_and_of_itself(window):
    """The boxes that labels take cross no outline and none of one another."""
    from app.drawing.part_labels import Spot, Writing

    for part in window.study.boat.parts.parts:
        writing = Writing.on(part, 0.0)
        drawing = part_drawing(part, mark_labels=True, bevels=True)
        texts = [item for item in drawing.items if isinstance(item, Text)]
        boxes = [writing.box(t.text, Spot(t.x, t.y, t.angle, t.anchor)) for t in texts]
        for number, box in enumerate(boxes):
            assert not writing.wood.boundary.intersects(box), (part.name, texts[number].text)
            assert not any(box.intersects(other) for other in boxes[:number]), part.name


def test_colours_come_with_a_legend_and_its_limit(window):
    window.open_step(2)
    step = window.step
    for number in range(1, step.colour.count()):
        step.colour.setCurrentIndex(number)
        legend = step.canvas._legend
        assert isinstance(legend, Legend)
        assert legend.low.startswith("0")
        assert legend.limit > 0.0
    step.colour.setCurrentIndex(0)
    assert step.canvas._legend is None


def test_every_kind_of_fitting_can_be_added_in_its_form(window, qtbot):
    """Each form adds one of its kind to the project, and each makes something of the boat."""
    from app.desktop.fittings_tab import FittingsTab
    from app.desktop.records import Records
    from app.project.fittings import Fittings

    window.open_step(3)
    tab = window.step.findChild(FittingsTab)
    before = window.desk.project
    kinds = [name for name in Fittings.model_fields if name != "motor"]
    forms = {records.model.path()[-1]: records for records in tab.findChildren(Records)}
    assert set(forms) == set(kinds)
    for name in kinds:
        had = len(getattr(window.desk.project.parts.fittings, name))
        forms[name].add()
        assert len(getattr(window.desk.project.parts.fittings, name)) == had + 1, name
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    assert len(window.study.boat.parts.parts) > 14
    for _ in kinds:
        window.desk.undo()
    assert window.desk.project == before


def test_a_lap_is_listed_where_the_boat_goes_together(window, qtbot):
    desk = window.desk
    split = SplitChoice(plank="side", joint="upper strake laps the lower")
    planking = desk.project.planking.model_copy(update={"splits": (split,)})
    desk.edit(desk.project.model_copy(update={"planking": planking}), "split a plank")
    qtbot.waitUntil(
        lambda: (fit := window.study.boat.together) is not None and len(fit.laps) == 1,
        timeout=20000,
    )
    window.open_step(3)
    tab = window.step.together
    (lap,) = window.study.boat.together.laps
    listed = [row for row in rows(tab.table) if row[0].startswith("side seam: ")]
    assert [row[0] for row in listed] == ["side seam: side upper strake on side lower strake"]
    assert f"plane {lap.land:.1f} mm off inside" in listed[0][1]
    assert tab.pick("side seam")
    assert tab.table.currentItem().text(0) == listed[0][0]
    desk.undo()
