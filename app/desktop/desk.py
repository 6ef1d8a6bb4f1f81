"""The open project on the desk: its history, its file, its lock and its journal.

Everything that changes the project goes through `edit`; widgets hold no copies of it.
"""

import contextlib
import threading
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QStandardPaths, Signal

from app.project.document import Project
from app.project.history import History
from app.project.journal import Journal, Recovered, journal_path, recover
from app.project.storage import load, save
from lofting.findings import Refused
from lofting.lengths import Notation

UNNAMED = ("", str(Project.model_fields["name"].default))
"""What stands for the name of a boat that nobody has named."""


class Desk(QObject):
    """One open project.

    Signals:
        changed: the project is another value now (edit, undo, open, or typing not yet done).
        opened: another project was put on the desk (comes before `changed`).
        moved: file name, saved mark or what can be undone changed.
        trouble: a sentence for the builder that something beside the work went wrong.
    """

    changed = Signal()
    opened = Signal()
    moved = Signal()
    trouble = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.history = History(Project())
        self.path: Path | None = None
        self.shared = False
        """Another window holds this file."""
        self._saved: Project = self.history.present
        self._typing: Project | None = None
        self._lock: QLockFile | None = None
        self._journal = Journal(self._loose_journal(), self.history.present)

    @property
    def project(self) -> Project:
        """The project now, with what is being typed."""
        return self._typing or self.history.present

    @property
    def notation(self) -> Notation:
        """How this project writes lengths."""
        return Notation(self.project.plan.notation)

    @property
    def unsaved(self) -> bool:
        """Whether the file holds something else."""
        return self.history.present != self._saved

    @property
    def name(self) -> str:
        """What the title bar calls it."""
        return self.path.name if self.path else f"{self.history.present.name} (not saved yet)"

    # --- edits ---------------------------------------------------------------------------------

    def edit(self, project: Project, what: str) -> None:
        """Put a new value in place of the old, as one step of undo called `what`."""
        was_typing, self._typing = self._typing, None
        history = self.history.did(project, what)
        if history is self.history:
            if was_typing is not None and was_typing != project:
                self.changed.emit()
            return
        self.history = history
        self._write_journal(what)
        self.changed.emit()
        self.moved.emit()

    def type(self, project: Project | None) -> None:
        """Show a value while it is still being typed; None goes back to the last edit."""
        if project == self.history.present:
            project = None
        if project != self._typing:
            self._typing = project
            self.changed.emit()

    def undo(self) -> None:
        """One edit back."""
        self._go(self.history.undone(), "undo")

    def redo(self) -> None:
        """One undone edit forward."""
        self._go(self.history.redone(), "redo")

    def _go(self, history: History, what: str) -> None:
        self._typing = None
        if history is self.history:
            return
        self.history = history
        self._write_journal(what)
        self.changed.emit()
        self.moved.emit()

    def _write_journal(self, what: str) -> None:
        try:
            self._journal.append(self.history.present, what)
        except OSError as error:
            self.trouble.emit(f"The edit journal cannot be written ({error.strerror}); save often.")
            return
        threading.Thread(target=self._journal.sync, daemon=True).start()

    # --- files ---------------------------------------------------------------------------------

    def open(self, path: Path) -> None:
        """Read a project file and put it on the desk.

        Raises:
            Refused: it cannot be read; what was on the desk stays.
        """
        project = load(path)
        self._take(project, path)

    def new(self, project: Project) -> None:
        """Begin with a project that has no file yet."""
        self._take(project, None)

    def save(self, path: Path | None = None) -> None:
        """Write the project to its file, or to a new one. A boat that nobody has named takes the
        file's name, or every paper would say that she has none.

        Raises:
            Refused: it cannot be written; the old file is untouched.
        """
        target = path or self.path
        if target is None:
            raise Refused("project", "it has no file yet.", "Choose a name for it.")
        if self.history.present.name.strip() in UNNAMED:
            named = self.history.present.model_copy(update={"name": target.stem})
            self.edit(named, f"name her {target.stem}, after the file")
        present = self.history.present
        save(target, present)
        self._journal.discard()
        if target != self.path:
            self.path = target
            self._relock()
        self._journal = Journal(journal_path(target), present)
        self._saved = present
        self.moved.emit()

    def found_after_crash(self) -> Recovered | None:
        """Edits a crashed window left behind for this file (or for a project without one)."""
        if self.shared:
            return None
        found = recover(self._journal.path)
        if found is None or found.project == self.history.present:
            return None
        return found

    def take_recovered(self, found: Recovered) -> None:
        """Put the recovered project in as one edit."""
        count = len(found.edits)
        self.edit(found.project, f"bring back {count} edit{'s' if count != 1 else ''}")

    def close(self) -> None:
        """Leave the desk clean: no journal, no lock. Call after saving or giving up."""
        if not self.shared:
            with contextlib.suppress(OSError):
                self._journal.discard()
        else:
            self._journal.close()
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None

    def _take(self, project: Project, path: Path | None) -> None:
        self.close()
        self.path = path
        self.history = History(project)
        self._saved = project
        self._typing = None
        self._relock()
        where = journal_path(path) if path else self._loose_journal()
        if self.shared:
            where = where.with_name(f"{where.name}.second")
        self._journal = Journal(where, project)
        self.opened.emit()
        self.changed.emit()
        self.moved.emit()

    def _relock(self) -> None:
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None
        self.shared = False
        if self.path is None:
            return
        lock = QLockFile(str(self.path.with_name(f".{self.path.name}.lock")))
        lock.setStaleLockTime(0)
        if lock.tryLock(0):
            self._lock = lock
        elif lock.error() is QLockFile.LockError.LockFailedError:
            self.shared = True

    def _loose_journal(self) -> Path:
        folder = Path(
            QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppDataLocation)
        )
        with contextlib.suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True)
        return folder / "not-saved-yet.journal"
