"""Drawn against taped on the stores step."""


def test_what_the_tape_said_is_typed_and_told(window, qtbot):
    window.open_step(7)
    tab = window.step.taped
    window.step.tabs.setCurrentWidget(tab)
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    model = tab.model
    assert model.names() == tuple(c.name for c in window.study.boat.check_lengths)
    check = model.checks[0]
    assert model.setData(model.index(0, 2), f"{check.length + 20.0:.1f}")
    assert model.data(model.index(0, 3)) == "+20"
    assert model.bold(check.name)
    qtbot.waitUntil(
        lambda: any(f.code == "out-of-true" for f in window.study.findings), timeout=20000
    )
    assert not model.setData(model.index(0, 2), "0")
    assert model.setData(model.index(0, 2), "")
    assert window.desk.project.taped == ()
