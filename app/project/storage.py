"""Reading and writing project files: strict in, atomic out, older versions brought forward."""

import contextlib
import json
import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from app.project.document import FORMAT, VERSION, Project
from app.project.models import plainly
from lofting.findings import Refused

SUFFIX = ".scrieve"


def _from_1(raw: dict[str, Any]) -> dict[str, Any]:
    """Weights from the scales and spreaders are typed in from version 2 on. Some files that call
    themselves version 1 know the scales already: what they say is kept."""
    plan = raw.get("plan", {})
    if isinstance(plan, dict):
        plan = {"spreaders": [], **plan}
    return {"weighed": [], **raw, "plan": plan}


MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _from_1}
"""From a version to the next. A change of the document's shape adds one function here and a saved
file of the old version to the tests, which stays there for ever."""


def load(path: Path | str) -> Project:
    """Read a project file.

    Raises:
        Refused: the file is missing, is no JSON, is of another format or a newer version, or holds
            a value that is not allowed; the message names the place.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise Refused(
            str(path), "there is no such file.", "Check the name, or make one with: scrieve new."
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        raise Refused(
            str(path), f"it cannot be read ({_plainly(error)}).", "Check the file and its rights."
        ) from None
    return read(text, source=str(path))


def read(text: str, *, source: str = "project") -> Project:
    """Read a project from its JSON text; `source` names it in messages. Raises Refused."""
    try:
        raw = json.loads(text)
    except json.JSONDecodeError as error:
        raise Refused(
            f"{source}, line {error.lineno}, column {error.colno}",
            f"this is not JSON ({error.msg.lower()}).",
            "Mend the text there, or go back to an earlier copy of the file.",
        ) from None
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        raise Refused(
            source,
            f'this is not a Scrieveboard project: "format" is not "{FORMAT}".',
            "Open a *.scrieve file, or make one with: scrieve new.",
        )
    return _validated(brought_forward(raw, source=source), source)


def brought_forward(
    raw: dict[str, Any],
    *,
    source: str = "project",
    migrations: Mapping[int, Callable[[dict[str, Any]], dict[str, Any]]] | None = None,
    target: int = VERSION,
) -> dict[str, Any]:
    """The document brought to the version of this program, one step after the other.

    Raises:
        Refused: the version is missing, unknown or newer than this program.
    """
    steps = MIGRATIONS if migrations is None else migrations
    version = raw.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise Refused(
            f"{source}, version",
            f"{version!r} is no version of a project.",
            f'Set "version" to {target} if the file was written by hand for this program.',
        )
    if version > target:
        raise Refused(
            f"{source}, version",
            f"the file is of version {version}, this program reads up to {target}.",
            "Use a newer Scrieveboard to open it.",
        )
    while version < target:
        if version not in steps:
            raise Refused(
                f"{source}, version",
                f"version {version} is not known.",
                "Go back to an earlier copy of the file.",
            )
        raw = steps[version](dict(raw))
        version += 1
        raw["version"] = version
    return raw


def save(path: Path | str, project: Project) -> None:
    """Write a project so that the file is whole at every moment: either the old or the new.

    Raises:
        Refused: the folder cannot be written or the disk is full; the old file is untouched.
    """
    write_atomically(Path(path), written(project).encode("utf-8"))


def written(project: Project) -> str:
    """The project as the text of its file: JSON that a person can read, a line a thing."""
    return _readable(project.model_dump(mode="json")) + "\n"


LINE = 100


def _readable(value: object, indent: int = 0) -> str:
    """JSON with every object or list that fits on one line written on one line."""
    short = json.dumps(value, ensure_ascii=False)
    if not isinstance(value, dict | list) or indent + len(short) <= LINE:
        return short
    pad = " " * (indent + 1)
    if isinstance(value, dict):
        inner = [
            f"{pad}{json.dumps(key, ensure_ascii=False)}: {_readable(item, indent + 1)}"
            for key, item in value.items()
        ]
        return "{\n" + ",\n".join(inner) + "\n" + " " * indent + "}"
    inner = [pad + _readable(item, indent + 1) for item in value]
    return "[\n" + ",\n".join(inner) + "\n" + " " * indent + "]"


def write_atomically(path: Path, content: bytes) -> None:
    """Write bytes to a sibling, flush them to the disk, and put it in place in one step.

    Raises:
        Refused: nothing was changed.
    """
    temporary: str | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        if path.exists():
            os.chmod(temporary, path.stat().st_mode & 0o777)
        else:
            mask = os.umask(0)
            os.umask(mask)
            os.chmod(temporary, 0o666 & ~mask)
        os.replace(temporary, path)
    except OSError as error:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        raise Refused(
            str(path),
            f"it cannot be written ({_plainly(error)}).",
            "Choose another folder or free some space; what was there before is untouched.",
        ) from None


def _plainly(error: Exception) -> str:
    if isinstance(error, UnicodeError):
        return "it is not text"
    return (getattr(error, "strerror", None) or str(error)).lower()


def _validated(raw: dict[str, Any], source: str) -> Project:
    try:
        return Project.model_validate_json(json.dumps(raw))
    except ValidationError as error:
        first = error.errors()[0]
        place = " / ".join(_named(raw, first["loc"]))
        more = error.error_count() - 1
        also = f" ({more} more like it.)" if more else ""
        raise Refused(
            f"{source}, {place or 'top'}",
            f"{plainly(dict(first))}.{also}",
            _remedy(first["type"]),
        ) from None


def _named(raw: object, location: tuple[int | str, ...]) -> list[str]:
    """The place in words: list items by their name or label where they have one."""
    words: list[str] = []
    value: object = raw
    for step in location:
        if isinstance(step, int):
            value = value[step] if isinstance(value, list) and step < len(value) else None
            name = None
            if isinstance(value, dict):
                name = value.get("name") or value.get("label") or value.get("point")
            words.append(f'"{name}"' if name else f"item {step + 1}")
        else:
            value = value.get(step) if isinstance(value, dict) else None
            words.append(step)
    return words


def _remedy(kind: str) -> str:
    if kind == "extra_forbidden":
        return "Check the spelling of this name; the schema lists those that are known."
    if kind == "missing":
        return "Add it; the schema says what it should be."
    if kind == "literal_error":
        return "Use one of the words allowed here."
    if kind.startswith(("greater_than", "less_than")):
        return "Type a figure within that limit."
    return "Mend the value at this place."
