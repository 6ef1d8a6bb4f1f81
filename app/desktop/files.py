"""Opening, saving, recent files, recovery after a crash, and the questions that go with them."""

from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox, QWidget

from app.desktop.desk import Desk
from app.project.document import Project
from app.project.new import project_from_offsets, table_in_file
from app.project.samples import load_sample, sample_names
from app.project.storage import SUFFIX
from lofting.findings import Refused

MOST_RECENT = 8
PROJECTS = f"Projects (*{SUFFIX});;All files (*)"


class Files:
    """Everything between the desk and the disk that asks or tells the builder."""

    def __init__(self, desk: Desk, window: QWidget) -> None:
        self.desk = desk
        self.window = window

    # --- opening ---------------------------------------------------------------------------------

    def open_first(self, where: str) -> None:
        """Open what the command line names: a file, or a sample.

        Raises:
            Refused: it cannot be read.
        """
        path = Path(where)
        if not path.is_file() and where in sample_names():
            self.desk.new(load_sample(where))
            return
        self.desk.open(path.absolute())
        self._opened(path.absolute())

    def open_path(self, path: Path) -> bool:
        """Open a file, asking about unsaved work first; a table of offsets makes a new project."""
        if not self.may_leave():
            return False
        try:
            if path.suffix.lower() in (".csv", ".txt", ".tsv"):
                typed, conventions = table_in_file(path)
                self.desk.new(project_from_offsets(path.stem, typed, conventions))
                return True
            self.desk.open(path.absolute())
        except Refused as problem:
            self.refused("Not opened", problem)
            return False
        self._opened(path.absolute())
        self.offer_recovery()
        return True

    def _opened(self, path: Path) -> None:
        self.remember(path)
        if self.desk.shared:
            self.tell(
                "Open elsewhere",
                f"{path.name} is open in another window. What you save here would overwrite what "
                "is saved there: close one of the two, or save this one under another name.",
            )

    def ask_and_open(self) -> None:
        """Ask which file."""
        folder = str(self.desk.path.parent) if self.desk.path else ""
        name, _ = QFileDialog.getOpenFileName(
            self.window, "Open project", folder, f"{PROJECTS};;Tables of offsets (*.csv)"
        )
        if name:
            self.open_path(Path(name))

    def ask_for_sample(self) -> None:
        """Ask which sample."""
        names = sample_names()
        name, sure = QInputDialog.getItem(
            self.window, "Open a sample", "A copy to look at and change:", names, 0, False
        )
        if sure and name and self.may_leave():
            self.open_sample(name)

    def open_sample(self, name: str) -> None:
        """Put a copy of a sample on the desk."""
        try:
            self.desk.new(load_sample(name))
        except Refused as problem:
            self.refused("Not opened", problem)

    def new(self) -> None:
        """An empty project."""
        if self.may_leave():
            self.desk.new(Project())

    # --- saving ----------------------------------------------------------------------------------

    def save(self) -> bool:
        """Save to the project's file, asking for one where there is none."""
        if self.desk.path is None or self.desk.shared:
            return self.save_as()
        return self._save(None)

    def save_as(self) -> bool:
        """Ask for a file and save there."""
        start = str(self.desk.path or Path.home() / f"{self.desk.project.name}{SUFFIX}")
        name, _ = QFileDialog.getSaveFileName(self.window, "Save project", start, PROJECTS)
        if not name:
            return False
        path = Path(name)
        return self._save(path if path.suffix else path.with_suffix(SUFFIX))

    def _save(self, path: Path | None) -> bool:
        try:
            self.desk.save(path)
        except Refused as problem:
            self.refused("Not saved", problem)
            return False
        if self.desk.path is not None:
            self.remember(self.desk.path)
        return True

    def may_leave(self) -> bool:
        """Whether the project on the desk may go: saved, or given up by the builder."""
        if not self.desk.unsaved:
            return True
        buttons = QMessageBox.StandardButton
        answer = QMessageBox.question(
            self.window,
            "Unsaved work",
            f"{self.desk.name} has changes that are not saved.",
            buttons.Save | buttons.Discard | buttons.Cancel,
            buttons.Save,
        )
        if answer == buttons.Save:
            return self.save()
        return answer == buttons.Discard

    # --- recent files and recovery ---------------------------------------------------------------

    def recent(self) -> list[Path]:
        """Files opened lately that are still there, newest first."""
        kept = QSettings().value("files/recent", [])
        names = kept if isinstance(kept, list) else [kept] if isinstance(kept, str) else []
        return [Path(name) for name in names if Path(name).exists()]

    def remember(self, path: Path) -> None:
        """Put a file first among the recent ones."""
        names = [str(path)] + [str(p) for p in self.recent() if p != path]
        QSettings().setValue("files/recent", names[:MOST_RECENT])

    def offer_recovery(self) -> None:
        """Offer edits that a crashed window left behind."""
        found = self.desk.found_after_crash()
        if found is None:
            return
        count = len(found.edits)
        last = ", ".join(found.edits[-3:])
        answer = QMessageBox.question(
            self.window,
            "Edits that were not saved",
            f"The window closed without saving {count} edit{'s' if count != 1 else ''} "
            f"(last: {last}). Bring them back? You can undo it.",
        )
        if answer == QMessageBox.StandardButton.Yes:
            self.desk.take_recovered(found)

    # --- telling ---------------------------------------------------------------------------------

    def refused(self, title: str, problem: Refused) -> None:
        """Say what was refused: place, reason, remedy."""
        self.tell(title, f"{problem.place}: {problem.reason}\n\n{problem.remedy}")

    def tell(self, title: str, words: str) -> None:
        """A message the builder must see."""
        QMessageBox.warning(self.window, title, words)
