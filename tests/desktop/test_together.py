"""The parts step says how the boat goes together: every seam's gap with its place, frames too."""

from lofting.dryfit import DryFit


def test_gaps_are_listed_and_drawn(window, qtbot):
    qtbot.waitUntil(lambda: window.study.boat.together is not None, timeout=20000)
    window.open_step(3)
    tab = window.step.together
    fit = window.study.boat.together
    assert isinstance(fit, DryFit)
    rows = [tab.table.topLevelItem(n) for n in range(tab.table.topLevelItemCount())]
    assert len(rows) == len(fit.seams) + len(fit.frames)
    for row, seam, hand in zip(rows, fit.seams, fit.marked, strict=False):
        assert row.text(0).startswith(seam.line)
        assert row.text(1).startswith(f"{seam.largest:.2f} mm at ")
        assert row.text(2).startswith(f"{hand.largest:.2f} mm at ")
    assert rows[len(fit.seams)].text(0) == f"{fit.frames[0].part} on {fit.frames[0].plank}"
    assert f"{fit.largest:.2f} mm" in tab.verdict.text()
    assert tab.pick("chine")
    drawn = [item.getData()[1].max() for item in tab.plot.item.listDataItems()]
    chine = next(n for n, seam in enumerate(fit.seams) if seam.line == "chine")
    assert max(drawn) == max(fit.marked[chine].largest, fit.seams[chine].largest)
    assert not tab.pick("no such line")


def test_a_thicker_plank_is_put_together_anew(window, qtbot):
    qtbot.waitUntil(lambda: window.study.boat.together is not None, timeout=20000)
    before = window.study.boat.together
    planking = window.desk.project.planking
    planks = tuple(p.model_copy(update={"thickness": 9.0}) for p in planking.planks)
    thick = window.desk.project.model_copy(
        update={"planking": planking.model_copy(update={"planks": planks})}
    )
    window.desk.edit(thick, "thicker")
    qtbot.waitUntil(
        lambda: (
            window.study.geometry_fresh()
            and window.study.boat.together is not None
            and window.study.boat.together is not before
        ),
        timeout=20000,
    )
    assert window.study.boat.together.largest < 0.2
