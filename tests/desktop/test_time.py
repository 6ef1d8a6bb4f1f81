"""How long it takes, on the stores step."""

import time

from app.project.editing import put


def test_hours_and_days_are_listed_and_follow_what_is_typed(window, qtbot):
    window.open_step(7)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    step = window.step
    step.tabs.setCurrentWidget(step.time)
    tree, says = step.time.tree, step.time.says
    work = window.study.boat.work
    assert tree.topLevelItemCount() == len(work.done)
    assert f"About {work.hours:.0f} hours" in says.text()
    assert "weeks from first to last" in says.text()
    assert tree.topLevelItem(0).text(2) == "week 1, Sat"
    keys = {item.key for item in step.canvas.drawing.items if getattr(item, "key", "")}
    assert {f"task/{done.task.key}" for done in work.done} == keys
    nest = window.study.boat.nest
    begin = time.monotonic()
    window.desk.edit(put(window.desk.project, ("working", "start"), "2026-03-28"), "first day")
    qtbot.waitUntil(window.study.sheets_fresh, timeout=60000)
    qtbot.waitUntil(lambda: tree.topLevelItem(0).text(2) == "Sat 2026-03-28", timeout=5000)
    assert time.monotonic() - begin < 5.0
    # The sheets stay as they lie: nothing of the layout was asked for.
    assert [b.placements for b in window.study.boat.nest.blanks] == [
        b.placements for b in nest.blanks
    ]
    assert not step.time.form.give(step.time.form.figures[2], "spring")
    assert "date" in step.time.form.trouble.text()
    window.desk.edit(put(window.desk.project, ("working", "temperature"), 4.0), "cold")
    qtbot.waitUntil(lambda: "warm the shed" in says.text(), timeout=20000)


def test_own_minutes_are_typed_and_taken_back(window, qtbot):
    window.open_step(7)
    step = window.step
    step.tabs.setCurrentWidget(step.rates)
    model = step.rates.model
    row = model.names().index("sawing")
    assert model.setData(model.index(row, 3), "6,5")
    assert window.desk.project.working.rates[0].minutes == 6.5
    assert model.data(model.index(row, 3)) == "6.5"
    assert not model.setData(model.index(row, 3), "-1")
    assert not model.setData(model.index(row, 2), "3")
    assert model.setData(model.index(row, 3), "")
    assert window.desk.project.working.rates == ()


def test_minutes_without_end_are_refused_and_an_editor_left_alone_writes_nothing(window, qtbot):
    window.open_step(7)
    model = window.step.rates.model
    before = window.desk.project
    assert not model.setData(model.index(0, 3), "1e9")
    assert model.setData(model.index(0, 3), model.data(model.index(0, 3)))
    assert window.desk.project is before
