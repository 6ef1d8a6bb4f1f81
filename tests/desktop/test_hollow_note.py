"""Hollow corners are told where joints are chosen."""

from tests.generators.spray_scow import spray_scow


def test_a_hollow_corner_is_told_under_the_joints_and_gone_with_another_joint(window, qtbot):
    desk = window.desk
    window.open_step(2)
    step = window.step
    assert step.hollow.isHidden()
    desk.new(spray_scow())
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    assert not step.hollow.isHidden()
    # 78.7 degrees below and 49.6 above: hollow by 29, 6 mm times tan 14.5 degrees
    assert "knuckle is hollow from 0 mm" in step.hollow.text()
    assert "by 1.6 mm at" in step.hollow.text()
    (told,) = [f for f in window.study.findings if f.code == "outsides-overlap"]
    step.go_to(told.where)
    row = step.corners.grid.currentIndex().row()
    assert step.corners.model.rows[row].line == "knuckle"
    desk.new(spray_scow("outer corners touch"))
    qtbot.waitUntil(window.study.geometry_fresh, timeout=20000)
    assert step.hollow.isHidden()
    assert not [f for f in window.study.findings if f.code == "outsides-overlap"]
