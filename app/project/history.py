"""Undo as a stack of immutable projects: nothing is ever taken back, an older value is shown."""

from dataclasses import dataclass, replace

from app.project.document import Project

DEEPEST = 500
"""Edits kept; a project is some tens of kilobytes and neighbours share most of it."""


@dataclass(frozen=True)
class Edit:
    """A project as it was, and the few words that say what was done to it next."""

    project: Project
    what: str


@dataclass(frozen=True)
class History:
    """The project now, with the edits that led here and those undone.

    Attributes:
        past: oldest first; past[-1].project is what one undo brings back, .what its name.
        future: nearest first; future[0].project is what one redo brings back, .what its name.
    """

    present: Project
    past: tuple[Edit, ...] = ()
    future: tuple[Edit, ...] = ()

    def did(self, project: Project, what: str) -> "History":
        """The history after an edit called `what`; the same history if nothing changed."""
        if project == self.present:
            return self
        past = (self.past + (Edit(self.present, what),))[-DEEPEST:]
        return History(project, past)

    def undone(self) -> "History":
        """One edit back; the same history when there is none."""
        if not self.past:
            return self
        last = self.past[-1]
        future = (Edit(self.present, last.what),) + self.future
        return replace(self, present=last.project, past=self.past[:-1], future=future)

    def redone(self) -> "History":
        """One undone edit forward again; the same history when there is none."""
        if not self.future:
            return self
        following = self.future[0]
        past = self.past + (Edit(self.present, following.what),)
        return replace(self, present=following.project, past=past, future=self.future[1:])
