"""Project files: what is refused, and with which words; nothing half-written."""

import json
import os

import jsonschema
import pytest

from app.project import storage
from app.project.document import PlanLine, PlanSheet, PlanStation, Project
from app.project.schema import schema_text
from lofting.findings import Refused


def small_project() -> Project:
    return Project(
        name="test boat",
        plan=PlanSheet(
            notation="ft-in-8",
            stations=(PlanStation(label="1", x="1-2-3+"),),
            lines=(PlanLine(name="keel", role="keel", half_breadths=("0",), heights=("0-2-1-",)),),
        ),
    )


def test_saved_and_read_again_is_the_same(tmp_path):
    project = small_project()
    path = tmp_path / "boat.scrieve"
    storage.save(path, project)
    assert storage.load(path) == project
    assert storage.load(path).plan.stations[0].x == "1-2-3+"


def test_saving_leaves_no_other_file(tmp_path):
    storage.save(tmp_path / "boat.scrieve", small_project())
    assert os.listdir(tmp_path) == ["boat.scrieve"]


def test_failed_save_keeps_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "boat.scrieve"
    storage.save(path, small_project())
    before = path.read_bytes()

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(storage.os, "fsync", full)
    with pytest.raises(Refused) as caught:
        storage.save(path, small_project().model_copy(update={"name": "other"}))
    assert "no space left" in caught.value.reason
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["boat.scrieve"]


def test_broken_json_names_line_and_column(tmp_path):
    path = tmp_path / "boat.scrieve"
    path.write_text('{\n "format": "scrieveboard-project",\n "version": 1,\n "name": }\n')
    with pytest.raises(Refused) as caught:
        storage.load(path)
    assert "line 4, column 10" in caught.value.place


def test_missing_file(tmp_path):
    with pytest.raises(Refused, match="no such file"):
        storage.load(tmp_path / "none.scrieve")


def test_another_format():
    with pytest.raises(Refused, match="not a Scrieveboard project"):
        storage.read('{"format": "something-else", "version": 1}')


@pytest.mark.parametrize("version", ["null", '"1"', "0", "true"])
def test_no_version(version):
    with pytest.raises(Refused, match="no version"):
        storage.read(f'{{"format": "scrieveboard-project", "version": {version}}}')


def test_newer_version_is_refused_not_guessed():
    with pytest.raises(Refused, match="version 99"):
        storage.read('{"format": "scrieveboard-project", "version": 99}')


def test_older_versions_are_brought_forward_step_by_step():
    def one(raw):
        raw["a"] = raw.pop("old")
        return raw

    def two(raw):
        return {**raw, "b": raw["a"] + 1}

    raw = storage.brought_forward({"version": 1, "old": 4}, migrations={1: one, 2: two}, target=3)
    assert raw == {"version": 3, "a": 4, "b": 5}


def test_a_wrong_value_names_its_place_in_words():
    raw = json.loads(storage.written(small_project()))
    raw["plan"]["lines"][0]["role"] = "kiel"
    with pytest.raises(Refused) as caught:
        storage.read(json.dumps(raw), source="boat.scrieve")
    assert caught.value.place == 'boat.scrieve, plan / lines / "keel" / role'
    assert "keel" in caught.value.reason


def test_an_unknown_name_is_found():
    raw = json.loads(storage.written(small_project()))
    raw["fairing"]["tollerance"] = 2
    with pytest.raises(Refused) as caught:
        storage.read(json.dumps(raw))
    assert caught.value.place.endswith("fairing / tollerance")
    assert "spelling" in caught.value.remedy


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"sheets": {"stock": [{"thickness": 0}]}}, "thickness"),
        ({"sheets": {"stock": [{"thickness": 6, "length": -1}]}}, "length"),
        ({"sheets": {"slope": 1}}, "slope"),
        ({"load_cases": [{"name": "a", "loads": [{"name": "b", "mass": 0, "x": 0, "z": 0}]}]}, "b"),
    ],
)
def test_impossible_figures_are_refused_at_the_edge(change, place):
    raw = {"format": "scrieveboard-project", "version": 1, **change}
    with pytest.raises(Refused) as caught:
        storage.read(json.dumps(raw))
    assert place in caught.value.place


def test_schema_accepts_what_is_written_and_rejects_what_is_not():
    schema = json.loads(schema_text())
    good = json.loads(storage.written(small_project()))
    jsonschema.validate(good, schema)
    good["plan"]["lines"][0]["role"] = "kiel"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(good, schema)
