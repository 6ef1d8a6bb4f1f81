"""The edit journal: every edit is appended beside the project file at once, so that a crash
loses at most the edit being written. The project file itself is only touched by saving."""

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.project.document import Project
from app.project.storage import brought_forward
from lofting.findings import Refused

FORMAT = "scrieveboard-journal"
VERSION = 1

Change = tuple[list[str | int], Any]
"""Where in the project's JSON, and the value that stands there afterwards."""


def journal_path(project_path: Path) -> Path:
    """Where the journal of a project file lies: beside it, hidden."""
    return project_path.with_name(f".{project_path.name}.journal")


def changes(before: Any, after: Any, place: tuple[str | int, ...] = ()) -> Iterator[Change]:
    """The least set of values to put in `before` (JSON values) to get `after`.

    Lists of one length are compared item by item, others are put whole.
    """
    if isinstance(before, dict) and isinstance(after, dict) and before.keys() == after.keys():
        for name in after:
            yield from changes(before[name], after[name], (*place, name))
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for number, (old, new) in enumerate(zip(before, after, strict=True)):
            yield from changes(old, new, (*place, number))
    elif before != after or type(before) is not type(after):
        yield (list(place), after)


def changed(value: Any, edits: list[Change]) -> Any:
    """`value` (JSON) with the edits put in, in place where it can be; returns the new whole.

    Raises:
        LookupError, TypeError: when an edit names a place that is not there.
    """
    for place, new in edits:
        if not place:
            value = new
            continue
        spot = value
        for step in place[:-1]:
            spot = spot[step]
        if isinstance(spot, dict) and place[-1] not in spot:
            raise KeyError(place[-1])
        spot[place[-1]] = new
    return value


@dataclass(frozen=True)
class Recovered:
    """What a journal holds: the project after its last whole edit, and the edits' names."""

    project: Project
    edits: tuple[str, ...]


class Journal:
    """Appends edits to a journal file. One journal serves one open project."""

    def __init__(self, path: Path, project: Project) -> None:
        """Begin a journal at `path` from `project`, which is what the file (or nothing) holds.

        The journal file is made at the first edit, so that looking at a project leaves no trace.
        """
        self.path = path
        self._start = project.model_dump(mode="json")
        self._last = self._start
        self._stream: Any = None

    def append(self, project: Project, what: str) -> None:
        """Write down an edit; handed to the system before this returns.

        Raises:
            OSError: when the journal cannot be written (the window warns and goes on).
        """
        now = project.model_dump(mode="json")
        if self._stream is None:
            self._stream = self.path.open("w", encoding="utf-8")
            self._write({"format": FORMAT, "version": VERSION, "project": self._start})
        self._write({"what": what, "set": list(changes(self._last, now))})
        self._last = now

    def _write(self, line: dict[str, Any]) -> None:
        self._stream.write(json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n")
        self._stream.flush()

    def sync(self) -> None:
        """Make the disk itself hold what was appended; slow, so call it off the window's thread."""
        stream = self._stream
        if stream is not None and not stream.closed:
            try:
                os.fsync(stream.fileno())
            except (OSError, ValueError):
                return  # closed meanwhile, or a file system that cannot: the line was handed over

    def close(self) -> None:
        """Stop writing and leave the file where it is."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    def discard(self) -> None:
        """The project was saved or given up: the journal has nothing more to tell."""
        self.close()
        self.path.unlink(missing_ok=True)


def recover(path: Path) -> Recovered | None:
    """Replay a journal up to its last whole line; None if there is none or it holds no edit.

    A torn last line (the crash itself) is left out; so is everything after a line that does
    not fit, since later edits build on it.
    """
    try:
        lines = path.read_text(encoding="utf-8", errors="replace").split("\n")
    except OSError:
        return None
    try:
        head = json.loads(lines[0])
        if head.get("format") != FORMAT or head.get("version") != VERSION:
            return None
        value = head["project"]
        project = _of_today(value)
    except (ValueError, KeyError, AttributeError, TypeError, Refused):
        return None
    names: list[str] = []
    for line in lines[1:]:
        try:
            entry = json.loads(line)
            value = changed(value, [(place, new) for place, new in entry["set"]])
            project = _of_today(value)
            names.append(str(entry["what"]))
        except (ValueError, LookupError, TypeError, AttributeError, Refused):
            break
    return Recovered(project, tuple(names)) if names else None


def _of_today(value: dict[str, Any]) -> Project:
    """The project from its JSON value, which an older program may have written."""
    return Project.model_validate(brought_forward(value))
