"""The list of findings leads to places, takes acceptances with a reason and keeps them."""

import pytest
from PySide6.QtCore import Qt

from app.desktop.findings import step_of
from app.project.editing import mark_of
from app.project.storage import load
from lofting.findings import Finding, Severity


@pytest.fixture
def slipped(window, qtbot):
    """The skiff with two digits of one figure swapped."""
    step = window.steps[0]
    index = step.model.index_of("sheer", "4", "height")
    typed = step.model.data(index)
    step.model.setData(index, typed[0] + typed[2] + typed[1] if typed[1] != typed[2] else "635")
    qtbot.waitUntil(window.study.geometry_fresh, timeout=15000)
    qtbot.waitUntil(lambda: bool(suspects(window)), timeout=5000)
    window.typed = typed
    return window


def suspects(window):
    return [f for f in window.study.findings if f.code == "suspect-offset"]


def test_a_click_on_a_finding_leads_to_the_cell(slipped, qtbot):
    slipped.open_step(6)
    tree = slipped.findings.tree
    rows = [tree.topLevelItem(n) for n in range(tree.topLevelItemCount())]
    row = next(r for r in rows if r.data(0, Qt.ItemDataRole.UserRole).code == "suspect-offset")
    tree.itemClicked.emit(row, 2)
    assert slipped.stack.currentIndex() == 0
    place = slipped.steps[0].grid.current_place()
    where = row.data(0, Qt.ItemDataRole.UserRole).where
    assert place.key(slipped.desk.project.plan) == (
        where["line"],
        where["point"],
        where["coordinate"],
    )


def test_the_suspect_cell_offers_the_true_figure_one_key_away(slipped):
    step = slipped.steps[0]
    step.grid.go("sheer", "4", "height")
    menu = step.grid.candidates_menu(step.grid.current_place())
    texts = [action.text() for action in menu.actions()]
    right = next(a for a in menu.actions() if a.text().startswith(slipped.typed + " "))
    assert texts.index(right.text()) <= 3
    right.trigger()
    assert step.model.data(step.model.index_of("sheer", "4", "height")) == slipped.typed


def action_of(menu, words):
    return next(a for a in menu.actions() if words in a.text())


def test_two_figures_exchanged_are_put_back_together(window, qtbot):
    step = window.steps[0]
    cells = [step.model.index_of("sheer", point, "half_breadth") for point in ("3", "5")]
    before = window.desk.project
    texts = [step.model.data(index) for index in cells]
    places = [step.model.place(index) for index in cells]
    step.model.put(dict(zip(places, texts[::-1], strict=True)), "exchange")
    qtbot.waitUntil(lambda: step.model.suspect(places[0]) is not None, timeout=15000)
    step.grid.go("sheer", "3", "half_breadth")
    menu = step.grid.candidates_menu(step.grid.current_place())
    action_of(menu, "exchanged").trigger()
    assert [step.model.data(index) for index in cells] == texts
    assert window.desk.project == before
    window.desk.undo()
    assert [step.model.data(index) for index in cells] == texts[::-1]


def test_a_station_at_a_wrong_distance_is_marked_in_its_own_cell(window, qtbot):
    step = window.steps[0]
    index = step.model.index_of("", "5", "x")
    true = step.model.data(index)
    step.model.setData(index, str(int(true) + 200))
    qtbot.waitUntil(lambda: step.model.suspect(step.model.place(index)) is not None, timeout=15000)
    step.grid.setCurrentIndex(index)
    menu = step.grid.candidates_menu(step.grid.current_place())
    next(a for a in menu.actions() if a.text().startswith(f"{true} ")).trigger()
    assert step.model.data(index) == true


def test_a_corner_nobody_marked_is_marked_with_one_key(window, qtbot):
    step = window.steps[0]
    plan = window.desk.project.plan
    number = next(n for n, line in enumerate(plan.lines) if line.name == "sheer")
    sheer, xs = plan.lines[number], [float(s.x) for s in plan.stations]
    heights = tuple(
        f"{float(h) + 0.2 * max(x - xs[4], 0.0):.0f}"
        for h, x in zip(sheer.heights, xs, strict=True)
    )
    end = sheer.stern.model_copy(
        update={"height": f"{float(sheer.stern.height) + 0.2 * (float(sheer.stern.x) - xs[4]):.0f}"}
    )
    bent = sheer.model_copy(update={"heights": heights, "stern": end})
    lines = (*plan.lines[:number], bent, *plan.lines[number + 1 :])
    step.model.put_plan(plan.model_copy(update={"lines": lines}), "bend the sheer")
    qtbot.waitUntil(lambda: bool(step.model.corners), timeout=15000)
    ((line, point, coordinate),) = step.model.corners
    assert line == "sheer"
    assert suspects(window) == []
    step.grid.go(line, point, coordinate)
    place = step.grid.current_place()
    assert "corner" in step.model.words(place)
    action_of(step.grid.candidates_menu(place), "knuckle").trigger()
    assert mark_of(window.desk.project.plan.lines[number], point).knuckle
    qtbot.waitUntil(lambda: not step.model.corners, timeout=15000)


def test_an_accepted_finding_is_kept_in_the_file_with_its_reason(slipped, tmp_path, qtbot):
    finding = suspects(slipped)[0]
    slipped.findings.accept(finding, "the plan has it so")
    path = tmp_path / "skiff.scrieve"
    slipped.desk.save(path)
    kept = load(path).accepted
    assert [(a.finding, a.reason) for a in kept] == [(finding.key, "the plan has it so")]
    assert "accepted" in slipped.findings.title.text()
    slipped.desk.undo()
    assert slipped.desk.project.accepted == ()


def test_a_stop_cannot_be_accepted(window):
    stop = Finding(Severity.STOP, "cannot-go-on", {"step": "planking"}, "No planks.", "Add some.")
    window.findings.show_findings((stop,))
    window.findings.tree.setCurrentItem(window.findings.tree.topLevelItem(0))
    assert not window.findings.accept_button.isEnabled()


@pytest.mark.parametrize(
    ("code", "where", "step"),
    [
        ("suspect-offset", {"line": "chine", "point": "4", "coordinate": "height"}, 0),
        ("knuckle-here", {"line": "chine", "point": "4", "coordinate": "height"}, 0),
        ("would-develop", {"plank": "side"}, 2),
        ("kink", {"line": "chine", "point": "4"}, 1),
        ("tight-bend", {"plank": "side"}, 2),
        ("fits-no-blank", {"part": "side"}, 3),
        ("no-stock", {"blank": "blank-1"}, 4),
        ("low-freeboard", {"load case": "two up"}, 6),
        ("out-of-true", {"length": "sheer along its curve"}, 7),
        ("timber-bend", {"timber": "gunwale"}, 7),
        ("too-few-sheets", {"material": "okoume", "thickness": 6.0}, 4),
        ("cannot-go-on", {"step": "sheets", "place": "stock"}, 4),
    ],
)
def test_every_place_has_its_step(code, where, step):
    finding = Finding(Severity.LOOK, code, where, "m", "r")
    assert step_of(finding) == step


def test_a_small_screen_holds_the_window_with_its_findings(slipped, qtbot):
    # 1280 x 720 is the least screen the pictures are judged at.
    slipped.resize(1280, 720)
    for number in range(len(slipped.steps)):
        slipped.open_step(number)
        assert slipped.minimumSizeHint().height() <= 720, slipped.steps[number].title
    assert slipped.height() == 720


def test_few_findings_leave_the_room_to_the_drawing(slipped, qtbot):
    slipped.resize(1400, 900)
    slipped.show()
    slipped._give_findings_room()
    tree = slipped.findings.tree
    last = tree.visualItemRect(tree.topLevelItem(tree.topLevelItemCount() - 1))
    spare = tree.viewport().height() - last.bottom()
    assert spare < 3 * tree.fontMetrics().height()


def test_what_the_boat_tells_afloat_is_shown_afloat(window, qtbot):
    """The place as the program itself names it, not as a test would."""
    window.files.open_first("shed_dory")
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)

    def told():
        return [f for f in window.study.findings if f.code == "tender"]

    qtbot.waitUntil(lambda: bool(told()), timeout=20000)
    assert step_of(told()[0]) == 6
    window.open_step(6)
    window.step.go_to(told()[0].where)
    assert window.step.case.currentText() == told()[0].where["load case"]
