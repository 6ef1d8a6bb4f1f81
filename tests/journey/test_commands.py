"""The commands as a person types them: good input, bad input, and what is left on the disk."""

import json
from pathlib import Path

import pytest

from app.cli import counted, has_screen, main
from app.project.samples import load_sample
from app.project.storage import load, save, written

REFERENCE = "lake_skiff"


def changed_text(**changes) -> str:
    raw = json.loads(written(load_sample(REFERENCE)))
    for path, value in changes.items():
        target = raw
        *steps, last = path.split("__")
        for step in steps:
            target = target[int(step)] if step.isdigit() else target[step]
        target[int(last) if last.isdigit() else last] = value
    return json.dumps(raw)


def check(tmp_path: Path, capsys, text: str) -> tuple[int, list[dict]]:
    path = tmp_path / "boat.scrieve"
    path.write_text(text, encoding="utf-8")
    status = main(["check", str(path), "--json"])
    out = capsys.readouterr().out
    return status, json.loads(out)["findings"] if out else []


def test_a_sample_is_clean(capsys):
    assert main(["check", REFERENCE, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert not [f for f in record["findings"] if f["severity"] == "stop"]
    assert record["format"] == "scrieveboard-summary"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"format": ', "not JSON"),
        ('{"format": "scrieveboard-project", "version": 7}', "version 7"),
        ('{"format": "scrieveboard-project", "version": 1, "plan": 3}', "plan"),
    ],
)
def test_what_cannot_be_read_exits_2_with_place_and_remedy(tmp_path, capsys, text, words):
    path = tmp_path / "boat.scrieve"
    path.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == 2
    error = capsys.readouterr().err
    assert words in error
    assert str(path) in error
    assert "Traceback" not in error


def test_missing_stations_are_said(tmp_path, capsys):
    status, findings = check(tmp_path, capsys, changed_text(plan__stations=[]))
    assert status == 1
    assert any(f["severity"] == "stop" for f in findings)


def test_two_stations_at_one_x(tmp_path, capsys):
    stations = json.loads(written(load_sample(REFERENCE)))["plan"]["stations"]
    stations[3]["x"] = stations[2]["x"]
    status, findings = check(tmp_path, capsys, changed_text(plan__stations=stations))
    assert status == 1
    text = " ".join(f["message"] for f in findings if f["severity"] == "stop")
    assert stations[2]["label"] in text
    assert stations[3]["label"] in text


def test_a_cell_that_is_no_figure_names_the_cell(tmp_path, capsys):
    status, findings = check(tmp_path, capsys, changed_text(plan__lines__1__heights__3="2o4"))
    cells = [f for f in findings if f["code"] == "unreadable-cell"]
    assert status == 1 or cells
    assert cells[0]["where"]["line"] == load_sample(REFERENCE).plan.lines[1].name
    assert cells[0]["where"]["coordinate"] == "height"
    assert "2o4" in cells[0]["message"]


def test_a_chine_above_the_sheer_is_found(tmp_path, capsys):
    _, findings = check(tmp_path, capsys, changed_text(plan__lines__1__heights__4="5700"))
    assert any(f["severity"] in ("stop", "look") for f in findings)
    assert any("chine" in json.dumps(f) for f in findings)


def test_zero_thickness_exits_2(tmp_path, capsys):
    path = tmp_path / "boat.scrieve"
    path.write_text(changed_text(planking__planks__0__thickness=0), encoding="utf-8")
    assert main(["check", str(path)]) == 2
    assert "thickness" in capsys.readouterr().err


def test_build_refuses_a_folder_with_other_things(tmp_path, capsys):
    (tmp_path / "photo.jpg").write_bytes(b"x")
    assert main(["build", "stone_punt", "--out", str(tmp_path), "--seconds", "1"]) == 2
    assert "other things" in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["photo.jpg"]


def test_unknown_word_is_answered(capsys):
    assert main(["biuld"]) == 2
    assert "build" in capsys.readouterr().err


def test_new_from_a_sample_and_from_its_exported_table(tmp_path, capsys):
    table, copy, made = (str(tmp_path / n) for n in ("t.csv", "copy.scrieve", "made.scrieve"))
    assert main(["export", "quay_pram", "--out", table]) == 0
    assert main(["new", copy, "--from", "quay_pram"]) == 0
    assert main(["new", made, "--offsets", table]) == 0
    assert main(["new", made, "--offsets", table]) == 2
    assert load(made).plan.lines == load(copy).plan.lines
    capsys.readouterr()
    assert main(["check", made, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert {p["name"] for p in record["planks"]} == {"bottom", "bilge plank", "side"}
    assert record["afloat"]["floats"]


def test_import_puts_a_table_into_a_project_and_keeps_the_rest(tmp_path, capsys):
    table, file = tmp_path / "t.csv", tmp_path / "boat.scrieve"
    save(file, load_sample("lake_skiff"))
    assert main(["export", "quay_pram", "--out", str(table)]) == 0
    assert main(["import", str(table), "--into", str(file)]) == 0
    project = load(file)
    assert project.plan.lines == load_sample("quay_pram").plan.lines
    assert project.sheets == load_sample("lake_skiff").sheets


def test_a_bad_table_names_its_line(tmp_path, capsys):
    table = tmp_path / "t.csv"
    table.write_text(
        "line,role,point,x,half_breadth,height\nkeel,kiel,1,430,0,0\n", encoding="utf-8"
    )
    assert main(["new", str(tmp_path / "b.scrieve"), "--offsets", str(table)]) == 2
    assert "line 2" in capsys.readouterr().err
    assert not (tmp_path / "b.scrieve").exists()


@pytest.mark.parametrize("sample", ["quay_pram", "stone_punt"])
def test_ways_of_joining_stand_side_by_side(capsys, sample):
    assert main(["ways", sample, "--json", "--seconds", "1"]) == 0
    rows = json.loads(capsys.readouterr().out)["ways"]
    assert {row["method"] for row in rows} == {"blank first", "piece first", "butt strap"}
    assert len({(row["sheet_length_mm"], row["sheet_width_mm"]) for row in rows}) == 3
    for row in rows:
        assert row["sheets"] >= row["sheets_lower_bound"] > 0
        assert 0 < row["waste"] < 1


def test_groups_asked_for_one_after_the_other_are_all_written(tmp_path):
    out = tmp_path / "out"
    words = ["build", "stone_punt", "--out", str(out), "--seconds", "1"]
    assert main([*words, "--only", "stores", "--only", "afloat"]) == 0
    assert {"stores.csv", "afloat.csv"} <= {path.name for path in out.iterdir()}


@pytest.mark.parametrize(
    "option", [("--seconds", "inf"), ("--seconds", "-3"), ("--roll", "-1"), ("--bed", "nan")]
)
def test_a_figure_that_makes_no_sense_is_named_as_it_was_typed(tmp_path, capsys, option):
    assert main(["build", "stone_punt", "--out", str(tmp_path / "out"), *option]) == 2
    assert capsys.readouterr().err.startswith(option[0])


def test_without_a_screen_the_window_is_refused_in_plain_words():
    assert not has_screen("linux", {})
    assert not has_screen("linux", {"DISPLAY": ""})
    assert has_screen("linux", {"WAYLAND_DISPLAY": "wayland-0"})
    assert has_screen("linux", {"QT_QPA_PLATFORM": "offscreen"})
    assert has_screen("darwin", {})
    assert has_screen("win32", {})


def test_a_table_that_is_no_text_is_said_so(tmp_path, capsys):
    table = tmp_path / "table.csv"
    table.write_bytes(bytes(range(128, 256)))
    assert main(["new", str(tmp_path / "a.scrieve"), "--offsets", str(table)]) == 2
    said = capsys.readouterr().err
    assert "it is not text" in said
    assert "codec" not in said


def test_a_fault_of_the_program_is_told_and_its_report_kept(capsys, monkeypatch):
    def broken(_options):
        raise RuntimeError("a plank too few")

    monkeypatch.setattr("app.cli._check", broken)
    assert main(["check", "stone_punt"]) == 70
    said = capsys.readouterr().err
    assert "Traceback" not in said
    report = Path(said.split("The report is in ")[1].split(": send")[0])
    assert "a plank too few" in report.read_text(encoding="utf-8")
    report.unlink()


def test_one_of_a_thing_is_not_said_as_several(capsys):
    assert [counted(n, "joint") for n in (0, 1, 2)] == ["0 joints", "1 joint", "2 joints"]
    assert main(["check", "lake_skiff_slips"]) == 1
    assert " 1 notes" not in capsys.readouterr().out


def test_a_folder_of_a_samples_name_does_not_hide_the_sample(tmp_path, monkeypatch, capsys):
    """As when a sample was built into a folder that bears its name."""
    (tmp_path / "stone_punt").mkdir()
    monkeypatch.chdir(tmp_path)
    assert main(["check", "stone_punt"]) == 0
    capsys.readouterr()
    (tmp_path / "other").mkdir()
    assert main(["check", "other"]) != 0
    assert "folder" in capsys.readouterr().err
