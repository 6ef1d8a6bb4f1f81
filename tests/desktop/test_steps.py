"""Every step shows something drawn, linked to its figures, in light and in dark."""

import numpy as np
import pytest

from app.desktop.canvas import Canvas
from app.desktop.forms import Form
from app.desktop.palette import Look
from app.desktop.plots import Plot
from app.project.editing import put
from tests.generators.boats import Kind, random_boat
from tests.generators.projects import project_of

GEOMETRY = (0, 1, 2, 3, 6)


def inked(canvas):
    """The share of the canvas that is not paper."""
    image = canvas.image()
    paper = canvas.look.paper.rgb()
    step = max(image.width() // 120, 1)
    spots = [
        image.pixel(x, y) != paper
        for x in range(0, image.width(), step)
        for y in range(0, image.height(), step)
    ]
    return sum(spots) / len(spots)


@pytest.mark.parametrize("dark", [False, True])
def test_geometry_steps_draw(window, dark):
    window.wear(Look(dark))
    for number in GEOMETRY:
        window.open_step(number)
        step = window.step
        canvases = [c for c in step.findChildren(Canvas) if c.isVisibleTo(step)]
        assert canvases, step.title
        for canvas in canvases:
            canvas.look = Look(dark)
            assert canvas.drawing.items, (step.title, canvas.caption)
            assert inked(canvas) > 0.003, (step.title, canvas.caption)
    window.wear(Look(False))


def test_plots_hold_curves_and_say_what_to_look_for(window, qtbot):
    qtbot.waitUntil(lambda: window.study.boat.together is not None, timeout=20000)
    for number in (1, 2, 3, 6):
        window.open_step(number)
        for plot in window.step.findChildren(Plot):
            assert plot.item.listDataItems(), window.step.title


def test_the_layout_runs_beside_the_window_and_steps_show_it(window, qtbot):
    window.desk.edit(
        window.desk.project.model_copy(
            update={"sheets": window.desk.project.sheets.model_copy(update={"seconds": 1.0})}
        ),
        "be quick",
    )
    window.open_step(4)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    sheets = window.step
    nest = window.study.boat.nest
    assert nest.sheets >= nest.bound.sheets > 0
    assert sheets.canvas.drawing.items
    window.open_step(7)
    assert window.step.tree.topLevelItemCount() == len(window.study.boat.stores.lines)
    window.open_step(5)
    assert window.step.table.topLevelItemCount() > 0
    window.open_step(4)
    blank, placement = next((b, p) for b in nest.blanks for p in b.placements)
    sheets.canvas.light({f"place/{placement.part}/{placement.copy}"})
    sheets.move_part(blank.name, sheets.canvas.turned(placement, 0.3))
    pinned = window.desk.project.sheets.pinned
    assert [(p.part, p.copy_number) for p in pinned] == [(placement.part, placement.copy)]
    assert "by hand" in sheets.hand.text()
    window.study.give_up()


def test_choosing_a_part_draws_it(window):
    window.open_step(3)
    step = window.step
    names = [part.name for part in window.study.boat.parts.parts]
    assert step.list.count() == len(names)
    for row, name in enumerate(names):
        step.list.setCurrentRow(row)
        assert step.canvas.drawing.title == name


def test_a_setting_typed_with_a_comma_is_taken(window, qtbot):
    form = next(f for f in window.steps[4].findChildren(Form) if "clearance" in f.fields)
    line = form.fields["clearance"]
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "7,5")
    line.editingFinished.emit()
    assert window.desk.project.sheets.clearance == 7.5


def test_a_value_out_of_range_is_refused_in_place(window):
    form = next(f for f in window.steps[4].findChildren(Form) if "slope" in f.fields)
    figure = next(f for f in form.figures if f.name == "slope")
    assert not form.give(figure, "2")
    assert "slope" in form.trouble.text()
    assert window.desk.project.sheets.slope != 2


def test_a_person_dragged_along_the_boat_trims_her(window, qtbot):
    window.open_step(6)
    step = window.step
    case = window.study.boat.afloat.cases[0]
    before = case.attitude.trim
    who = next(load for load in case.case.loads if load.person)
    step.canvas.dropped.emit(f"load/{who.name}", who.x + 600.0, who.z)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=15000)
    after = window.study.boat.afloat.cases[0].attitude.trim
    assert after > before, "weight moved aft lifts the bow"


def test_the_hull_turns(window):
    window.open_step(2)
    canvas = window.step.canvas
    before = canvas.drawing.items[0]
    canvas.turn(0.4, 0.1)
    after = canvas.drawing.items[0]
    assert before is not after
    window.step.colour.setCurrentText("twist")
    assert not canvas.grey_shades


def test_fairing_from_the_batten_desk_lists_its_moves(window, qtbot):
    window.open_step(1)
    step = window.step
    step.fairing.spring_all()
    assert set(window.desk.project.fairing.fair) == {"keel", "chine", "sheer"}
    qtbot.waitUntil(window.study.lines_fresh, timeout=10000)
    moved = sum(len(line.moves) for line in window.study.boat.lines.lines)
    assert step.moves.tree.topLevelItemCount() == moved > 0
    sizes = [
        abs(float(step.moves.tree.topLevelItem(n).text(5)))
        for n in range(step.moves.tree.topLevelItemCount())
    ]
    assert sizes == sorted(sizes, reverse=True)
    assert max(sizes) <= window.desk.project.plan.reading_tolerance + 0.05


def test_a_drawing_goes_out_as_a_picture(window, tmp_path):
    canvas = window.steps[0].views.side
    canvas.write(tmp_path / "profile.png")
    assert (tmp_path / "profile.png").stat().st_size > 2000


def test_ways_of_joining_are_compared_looked_at_and_taken(window, qtbot):
    window.files.open_first("quay_pram")
    window.open_step(4)
    step = window.steps[4]
    qtbot.waitUntil(window.study.sheets_fresh, timeout=30000)
    own = step.canvas.nest
    desk = step.ways
    desk.seconds.setValue(0.5)
    desk.compare_button.click()
    qtbot.waitUntil(lambda: desk.compare_button.isEnabled(), timeout=60000)
    methods = {row.method.value for row in desk.rows}
    assert methods == {"blank first", "piece first", "butt strap"}
    assert desk.table.rowCount() == len(desk.rows) >= 6
    assert desk.table.item(0, 3).text() == str(desk.rows[0].sheets)
    number = next(i for i, row in enumerate(desk.rows) if row.length == 3050.0)
    desk.table.selectRow(number)
    assert step.canvas.nest.sheets == desk.rows[number].sheets
    assert step.canvas.only_look
    assert not step.canvas.may_drag("place/bottom/0")
    step.back_button.click()
    assert step.canvas.nest is not None
    assert step.canvas.nest.sheets == own.sheets
    assert not step.canvas.only_look
    desk.table.selectRow(number)
    desk.use_button.click()
    assert {s.length for s in window.desk.project.sheets.stock} == {3050.0}
    assert desk.picked() is None
    window.desk.undo()
    assert {s.length for s in window.desk.project.sheets.stock} == {2440.0}


def test_comparing_stops_when_told(window, qtbot):
    window.open_step(4)
    desk = window.steps[4].ways
    desk.seconds.setValue(60.0)
    desk.compare_button.click()
    qtbot.wait(300)
    desk.stop_button.click()
    assert desk.compare_button.isEnabled()


def test_a_twisted_plank_offers_to_ease_its_lines_and_that_undoes(empty_window, qtbot):
    window = empty_window
    boat = random_boat(Kind.DOUBLE_ENDER, 12)
    typed = project_of(boat.lines, boat.settings)
    window.desk.edit(typed, "type a boat")
    qtbot.waitUntil(lambda: bool(window.study.boat.to_develop), timeout=20000)
    window.open_step(2)
    panel = window.step.develop
    assert panel.isVisible()
    assert "chine 1 to chine 2" in panel.title.text()
    assert f"{panel.needed():g} mm" in panel.whole.text()
    panel.whole.click()
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    assert panel.isHidden()
    assert {f.code for f in window.study.findings} & {"twist", "would-develop"} == set()
    window.open_step(1)
    assert "develops" in window.step.fairing.eased.text()
    assert "still fair" in window.step.moves.printed.text()
    window.desk.undo()
    assert window.desk.project == typed
    qtbot.waitUntil(lambda: bool(window.study.boat.to_develop), timeout=20000)
    assert window.step.fairing.eased.isHidden()


def test_a_rule_worth_giving_up_is_told_looked_at_and_given_up(window, qtbot, monkeypatch):
    monkeypatch.setattr("app.desktop.rules_desk.SECONDS", 6.0)
    window.files.open_first("quay_pram")
    wide = put(window.desk.project, ("sheets", "clearance"), 90.0)
    window.desk.edit(put(wide, ("sheets", "tries"), 4), "a wide gap")
    window.open_step(4)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=30000)
    step = window.steps[4]
    before = step.canvas.nest.sheets
    desk = step.rules
    desk.ask_button.click()
    qtbot.waitUntil(lambda: not desk.stop_button.isEnabled(), timeout=40000)
    number = next(i for i, row in enumerate(desk.rows) if row.rule == "gap")
    desk.list.setCurrentRow(number)
    assert step.canvas.nest.sheets < before
    desk.take_button.click()
    assert window.desk.project.sheets.clearance == 3.0
    assert desk.rows == ()


def test_a_wrong_figure_does_not_press_the_colours_into_one_end(window, qtbot):
    window.files.open_first("lake_skiff_slips")
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    window.open_step(2)
    step = window.step
    step.colour.setCurrentText("twist")
    legend = step.canvas._legend
    limit = window.desk.project.planking.twist_limit_deg
    worst = max(float(np.degrees(p.twist).max()) for p in window.study.boat.planking.planks)
    assert worst > 10 * limit
    assert legend.limit >= 0.2
    assert legend.high == f"{limit / legend.limit:.3g}° and more"
