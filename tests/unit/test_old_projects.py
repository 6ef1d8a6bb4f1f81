"""Projects saved by every older version open for ever: the files lie in `tests/data/projects`."""

import json
import os
from pathlib import Path

import pytest

from app.project import journal, storage
from app.project.document import VERSION, Project, Weighed
from app.project.samples import load_sample, sample_names

FOLDER = Path(__file__).parent.parent / "data" / "projects"
OLD = sorted(FOLDER.glob("*.scrieve"))


def test_every_older_version_has_a_file_here() -> None:
    kept = {json.loads(path.read_text(encoding="utf-8"))["version"] for path in OLD}
    assert kept == set(range(1, VERSION))


@pytest.mark.parametrize("path", OLD, ids=lambda path: path.stem)
def test_an_old_project_opens_and_keeps_all_that_was_typed(path: Path) -> None:
    """Nothing is lost: every value of the old file stands in the new one at its place."""
    raw = json.loads(path.read_text(encoding="utf-8"))
    project = storage.load(path)
    assert project.version == VERSION
    now = json.loads(storage.written(project))

    def stands(old: object, new: object, place: str) -> None:
        if isinstance(old, dict):
            assert isinstance(new, dict), place
            for name, value in old.items():
                if (place, name) != ("", "version"):
                    stands(value, new[name], f"{place}/{name}")
        elif isinstance(old, list):
            assert isinstance(new, list), place
            for number, (a, b) in enumerate(zip(old, new, strict=True)):
                stands(a, b, f"{place}/{number}")
        else:
            assert old == new, place

    stands(raw, now, "")
    assert storage.read(storage.written(project)) == project


def test_scales_and_spreaders_are_there_after_version_1() -> None:
    before = storage.load(FOLDER / "version_1.scrieve")
    assert before.weighed == ()
    assert before.plan.spreaders == ()
    weighed = storage.load(FOLDER / "version_1_weighed.scrieve").weighed
    assert weighed == (Weighed(name="bottom", mass=9.4), Weighed(name="boat", mass=61.5))


def test_edits_an_older_program_left_behind_are_recovered(tmp_path: Path) -> None:
    """The program crashed, was updated, and is started again: the journal is of the old version."""
    raw = json.loads((FOLDER / "version_1.scrieve").read_text(encoding="utf-8"))
    head = {"format": journal.FORMAT, "version": journal.VERSION, "project": raw}
    edit = {"what": "rename", "set": [[["name"], "hers"], [["parts", "marks", "rulings"], True]]}
    path = tmp_path / "boat.journal"
    path.write_text(f"{json.dumps(head)}\n{json.dumps(edit)}\n", encoding="utf-8")
    found = journal.recover(path)
    assert found is not None
    assert found.project.version == VERSION
    assert (found.project.name, found.project.parts.marks.rulings) == ("hers", True)
    assert isinstance(found.project, Project)


@pytest.mark.parametrize("name", sample_names())
def test_samples_are_of_the_newest_version(name: str) -> None:
    import sample_projects

    folder = Path(os.fspath(next(iter(sample_projects.__path__))))
    text = (folder / f"{name}.scrieve").read_text(encoding="utf-8")
    assert json.loads(text)["version"] == VERSION
    assert text == storage.written(load_sample(name))
