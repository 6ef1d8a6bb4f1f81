"""The menus; every action has a key."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QMessageBox

from app.desktop.words_window import WordsWindow

if TYPE_CHECKING:
    from app.desktop.window import Window

Key = QKeySequence.StandardKey | str


def _add(menu: QMenu, text: str, key: Key, do: Callable[[], object]) -> QAction:
    action = menu.addAction(text)
    action.setShortcut(QKeySequence(key))
    action.triggered.connect(lambda _checked=False: do())
    return action


def make_menus(window: "Window") -> None:
    """Put the menus into the window."""
    bar, keys, files, desk = (
        window.menuBar(),
        QKeySequence.StandardKey,
        window.files,
        window.desk,
    )
    project = bar.addMenu("&Project")
    _add(project, "&New", keys.New, files.new)
    _add(project, "&Open ...", keys.Open, files.ask_and_open)
    recent = project.addMenu("Opened &lately")
    recent.aboutToShow.connect(lambda: _list_recent(window, recent))
    _add(project, "Open a sa&mple ...", "Ctrl+Shift+O", files.ask_for_sample)
    project.addSeparator()
    _add(project, "&Save", keys.Save, files.save)
    _add(project, "Save &as ...", keys.SaveAs, files.save_as)
    project.addSeparator()
    _add(project, "&Close", keys.Quit, window.close)

    edit = bar.addMenu("&Edit")
    undo = _add(edit, "&Undo", keys.Undo, desk.undo)
    redo = _add(edit, "&Redo", keys.Redo, desk.redo)

    def name_them() -> None:
        history = desk.history
        undo.setText(f"&Undo {history.past[-1].what}" if history.past else "&Undo")
        redo.setText(f"&Redo {history.future[0].what}" if history.future else "&Redo")
        undo.setEnabled(bool(history.past))
        redo.setEnabled(bool(history.future))

    desk.moved.connect(name_them)
    name_them()

    picture = bar.addMenu("P&icture")

    def first(do: str) -> Callable[[], object]:
        def call() -> None:
            canvases = window.step.canvases()
            if canvases:
                getattr(canvases[0], do)()

        return call

    _add(picture, "Show &all", "Ctrl+0", first("fit"))
    _add(picture, "&Copy", "Ctrl+Shift+C", first("copy"))
    _add(picture, "&Write to a file ...", "Ctrl+Shift+E", first("ask_and_write"))

    steps = bar.addMenu("&Step")
    for number, step in enumerate(window.steps):
        _add(
            steps,
            f"&{number + 1}  {step.title}",
            f"Alt+{number + 1}",
            lambda n=number: window.open_step(n),  # type: ignore[misc]
        )
    steps.addSeparator()
    _add(steps, "Next", "Ctrl+PgDown", lambda: _beside(window, 1))
    _add(steps, "One before", "Ctrl+PgUp", lambda: _beside(window, -1))
    steps.addSeparator()
    _add(steps, "Figures or &drawing", "F6", lambda: window.step.other_side())
    _add(steps, "&Findings", "F8", lambda: window.findings.tree.setFocus())

    help_menu = bar.addMenu("&Help")
    _add(help_menu, "&Keys", keys.HelpContents, lambda: _tell_keys(window))
    _add(help_menu, "&Words of the trade", "Shift+F2", lambda: _tell_words(window))
    _add(help_menu, "&About and cautions", "Shift+F1", lambda: _tell_about(window))


def _beside(window: "Window", by: int) -> None:
    window.open_step((window.stack.currentIndex() + by) % len(window.steps))


def _list_recent(window: "Window", menu: QMenu) -> None:
    menu.clear()
    for path in window.files.recent():
        action = menu.addAction(f"{path.name}   ({path.parent})")
        action.triggered.connect(lambda _c=False, p=path: window.files.open_path(p))
    if menu.isEmpty():
        menu.addAction("none yet").setEnabled(False)


KEYS = """
<table cellpadding=3>
<tr><td><b>Alt+1 ... Alt+8</b></td><td>the steps; Ctrl+PgUp and Ctrl+PgDn to the one
beside</td></tr>
<tr><td><b>F8</b></td><td>the findings; Enter leads to the place</td></tr>
<tr><td><b>F6</b></td><td>from figures to drawing, and back</td></tr>
<tr><td><b>In a table</b></td><td>type over, F2 to mend, Tab and Enter onward, Ctrl+C, Ctrl+V,
Delete</td></tr>
<tr><td><b>In the offsets</b></td><td>Space: what the figure may have been; Ctrl+D fill down,
Ctrl+R fill across; Ctrl+I station before, Ctrl+Shift+I after, Ctrl+Del removes it;
Ctrl+K knuckle, Ctrl+P pin, Ctrl+T tolerance</td></tr>
<tr><td><b>In a drawing</b></td><td>+ and − zoom, 0 shows all, arrows move, [ and ] go from one
thing to the next</td></tr>
<tr><td><b>Ctrl+Z, Ctrl+Y</b></td><td>undo and redo, everywhere</td></tr>
</table>
"""


def _tell_keys(window: "Window") -> None:
    QMessageBox.information(window, "Keys", KEYS)


def _tell_words(window: "Window") -> None:
    words = window.findChild(WordsWindow) or WordsWindow(window)
    words.show()
    words.raise_()
    words.wanted.setFocus()


def _tell_about(window: "Window") -> None:
    QMessageBox.information(
        window,
        "Scrieveboard",
        "<p><b>Scrieveboard</b>: from a table of offsets to parts on sheets, papers and cutting "
        "files for small plywood boats.</p>"
        "<p>It works out shapes, weights and how a boat floats from what you typed. It does not "
        "certify anything: stability, loading, flotation and motor power are for you, your local "
        "rules and licensed practice to judge. Wood dust, epoxy and isocyanate paints harm lungs "
        "and skin, and saws harm fingers: read their sheets and wear what they ask for.</p>",
    )
