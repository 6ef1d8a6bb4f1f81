"""The marking step: every choice of papers and files is set there, undone there and looked at."""

import pytest
from PySide6.QtCore import Qt

from app.desktop.papers_view import VIEW
from app.desktop.papers_work import KINDS
from app.project.marking import Marking

LAID = 60000


@pytest.fixture
def step(window, qtbot):
    sheets = window.desk.project.sheets.model_copy(update={"seconds": 1.0})
    window.desk.edit(window.desk.project.model_copy(update={"sheets": sheets}), "be quick")
    window.open_step(5)
    qtbot.waitUntil(window.study.sheets_fresh, timeout=LAID)
    qtbot.waitUntil(lambda: window.step.papers.pages is not None, timeout=LAID)
    return window.step


def test_every_choice_of_the_document_has_its_field_and_is_undone(step):
    desk = step.desk
    named = {figure.name for form in step.forms for figure in form.figures} | {"tile_parts"}
    assert named == set(Marking.model_fields)
    texts = {
        "spacing": "250",
        "shop_paper": "Letter",
        "loose_sheets": "yes",
        "paper": "610 x 914",
        "roll_width": "914,4",
        "file_units": "in",
        "file_curves": "points",
        "file_form": "R12",
        "sheet_turned_over": "yes",
        "tool_diameter": "6",
        "hole_diameter": "3",
        "bed_length": "1300",
        "bed_joint": "tongues",
        "measured_x": "99,4",
    }
    before = desk.project
    for form in step.forms:
        for figure in form.figures:
            if figure.name in texts:
                assert form.give(figure, texts[figure.name]), figure.name
                assert getattr(desk.project.marking, figure.name) != getattr(
                    before.marking, figure.name
                ), figure.name
    for _ in texts:
        desk.undo()
    assert desk.project == before


def test_a_figure_that_is_none_is_refused_beside_its_field(step):
    machine = step.forms[2]
    figure = next(f for f in machine.figures if f.name == "bed_length")
    assert not machine.give(figure, "-3")
    assert machine.trouble.text()


def test_parts_wanted_full_size_are_ticked(step, qtbot):
    ticks = step.wanted.list
    names = [ticks.item(row).text() for row in range(ticks.count())]
    assert names == [part.name for part in step.boat.parts.parts]
    row = names.index("transom")
    ticks.item(row).setCheckState(Qt.CheckState.Checked)
    assert step.desk.project.marking.tile_parts == ("transom",)
    step.papers.kind.setCurrentText("Full-size pages")
    qtbot.waitUntil(step.study.sheets_fresh, timeout=LAID)
    few = 30
    qtbot.waitUntil(lambda: 2 < len(step.papers.pages) < few, timeout=LAID)
    step.desk.undo()
    assert ticks.item(row).checkState() is Qt.CheckState.Unchecked


def test_the_widest_spacing_is_proposed_and_taken(step, qtbot):
    qtbot.waitUntil(lambda: step.spacing.found is not None, timeout=LAID)
    proposed = step.spacing.found.spacing
    assert proposed in (200.0, 250.0, 300.0, 400.0, 500.0)
    assert step.spacing.take_button.isEnabled() == (proposed != step.desk.project.marking.spacing)
    step.spacing.take()
    assert step.desk.project.marking.spacing == proposed
    qtbot.waitUntil(step.study.sheets_fresh, timeout=LAID)
    strays = [step.table.topLevelItem(k).text(2) for k in range(3)]
    figures = [float(text.split()[0]) for text in strays]
    assert figures == sorted(figures, reverse=True)


def test_every_kind_of_paper_and_a_view_are_shown_and_written(step, qtbot, tmp_path):
    for kind in ("Sheets of single parts", "Full size on a roll"):
        assert kind in KINDS
        before = step.papers.pages
        step.papers.kind.setCurrentText(kind)
        qtbot.waitUntil(lambda b=before: step.papers.pages is not b, timeout=LAID)
        assert len(step.papers.pages) > 0
    step.papers.kind.setCurrentText(VIEW)
    assert step.papers.second.isVisibleTo(step)
    step.papers.views.setCurrentText("body plan")
    for name in ("body.svg", "body.pdf"):
        step.write_view_to(tmp_path / name)
        qtbot.waitUntil(lambda n=name: step.says.text().endswith(n), timeout=LAID)
        assert (tmp_path / name).stat().st_size > 1000
    step.write_view_to(tmp_path / "nowhere" / "body.svg")
    qtbot.waitUntil(lambda: step.says.text().startswith("Not written"), timeout=LAID)
