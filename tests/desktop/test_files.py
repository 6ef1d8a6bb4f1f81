"""Opening, saving, recovery after a crash, and the warning about a second window."""

import json

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent

from app.cli import main
from app.desktop.desk import Desk
from app.project.editing import put
from app.project.journal import journal_path, recover
from app.project.samples import load_sample
from app.project.storage import load, save
from lofting.findings import Refused


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "skiff.scrieve"
    save(path, load_sample("lake_skiff"))
    return path


def renamed(desk, name):
    desk.edit(put(desk.project, ("name",), name), f"call it {name}")


def test_saved_and_opened_again_is_the_same(qapp, file):
    desk = Desk()
    desk.open(file)
    renamed(desk, "Heron")
    assert desk.unsaved
    desk.save()
    assert not desk.unsaved
    assert load(file).name == "Heron"
    assert not journal_path(file).exists()
    desk.close()


def test_a_boat_that_nobody_named_takes_the_name_of_her_file(qapp, tmp_path):
    desk = Desk()
    desk.save(tmp_path / "heron.scrieve")
    assert load(tmp_path / "heron.scrieve").name == desk.project.name == "heron"
    assert not desk.unsaved
    renamed(desk, "Grey Heron")
    desk.save(tmp_path / "second try.scrieve")
    assert desk.project.name == "Grey Heron", "a name that was given stays"
    desk.close()


def test_her_name_is_typed_on_the_plan_sheet(empty_window, qtbot):
    empty_window.steps[0].begin.buttons["type"].click()
    field = empty_window.steps[0].conventions.name_form.fields["name"]
    assert field.text() == "untitled"
    field.selectAll()
    qtbot.keyClicks(field, "Heron")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert empty_window.desk.project.name == "Heron"
    empty_window.desk.undo()
    assert field.text() == "untitled"


def test_what_cannot_be_read_leaves_the_desk_as_it_was(qapp, file, tmp_path):
    desk = Desk()
    desk.open(file)
    broken = tmp_path / "broken.scrieve"
    broken.write_text("{", encoding="utf-8")
    with pytest.raises(Refused):
        desk.open(broken)
    assert desk.path == file
    desk.close()


def test_a_crash_loses_at_most_the_last_edit(qapp, file):
    desk = Desk()
    desk.open(file)
    for name in ("one", "two", "three"):
        renamed(desk, name)
    desk._journal.close()  # the window is gone, the journal stays
    text = journal_path(file).read_text(encoding="utf-8")
    journal_path(file).write_text(text[:-9], encoding="utf-8")  # and its last line is torn
    desk._lock.unlock()
    again = Desk()
    again.open(file)
    found = again.found_after_crash()
    assert found is not None
    assert found.project.name == "two"
    assert found.edits == ("call it one", "call it two")
    again.take_recovered(found)
    assert again.project.name == "two"
    again.undo()
    assert again.project == load(file)
    again.close()


def test_a_clean_end_leaves_nothing_to_recover(qapp, file):
    desk = Desk()
    desk.open(file)
    renamed(desk, "one")
    desk.close()
    assert not journal_path(file).exists()
    assert recover(journal_path(file)) is None
    assert sorted(p.name for p in file.parent.iterdir()) == [file.name]


def test_the_journal_holds_each_edit_as_its_change_only(qapp, file):
    desk = Desk()
    desk.open(file)
    renamed(desk, "one")
    lines = journal_path(file).read_text(encoding="utf-8").splitlines()
    assert json.loads(lines[-1]) == {"what": "call it one", "set": [[["name"], "one"]]}
    desk.close()


def test_a_second_window_on_the_same_file_is_known(qapp, file):
    first, second = Desk(), Desk()
    first.open(file)
    second.open(file)
    assert not first.shared
    assert second.shared
    second.close()
    first.close()
    third = Desk()
    third.open(file)
    assert not third.shared
    third.close()


def test_a_file_dropped_on_the_window_is_opened(empty_window, file):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(file))])
    event = QDropEvent(
        QPointF(QPoint(50, 50)),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    empty_window.dropEvent(event)
    assert empty_window.desk.path == file
    assert empty_window.files.recent()[0] == file
    assert file.name in empty_window.windowTitle()


def test_the_title_says_that_something_is_unsaved(window):
    assert not window.isWindowModified()
    renamed(window.desk, "Heron")
    assert window.isWindowModified()
    window.desk.undo()
    assert not window.isWindowModified()


def test_a_table_as_plans_print_it_opens_as_a_new_project(empty_window, tmp_path, qtbot):
    path = tmp_path / "from a plan.csv"
    assert main(["export", "lake_skiff", "--table", "--out", str(path)]) == 0
    empty_window.files.tell = lambda _title, words: pytest.fail(words)
    assert empty_window.files.open_path(path)
    plan = empty_window.desk.project.plan
    assert [line.name for line in plan.lines] == ["keel", "chine", "sheer", "stem"]
    assert plan.lines[1].heights == load_sample("lake_skiff").plan.lines[1].heights


def test_a_new_project_begins_with_the_plan_sheet(window):
    window.open_step(7)
    window.files.new()
    assert window.step is window.steps[0]
    window.open_step(3)
    window.files.open_sample("stone_punt")
    assert window.step is window.steps[3], "a boat to look at stays at the step looked at"


def test_a_fault_in_the_window_is_told_and_the_work_stays(window, capsys):
    before = window.desk.project
    try:
        raise ZeroDivisionError("no station")
    except ZeroDivisionError as fault:
        window.tell_fault(type(fault), fault, fault.__traceback__)
    assert "no station" in window.words.text()
    assert "Traceback" in capsys.readouterr().err
    assert window.desk.project is before
