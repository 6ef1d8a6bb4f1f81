"""Other papers and machines from the command line, read back by `verify`; views for sharing."""

import json

import pypdfium2
import pytest

from app.cli import main


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    out = tmp_path_factory.mktemp("papers") / "boat"
    words = ["build", "stone_punt", "--out", str(out), "--only", "cutting", "marking", "templates"]
    words += ["--paper", "A3", "--tiles", "side", "--roll", "914.4", "--part-sheets"]
    words += ["--bed", "1300", "--seconds", "1"]
    assert main(words) == 0
    return out


def test_what_was_asked_for_is_written_and_verified(built, capsys):
    for name in ("full-size-A3.pdf", "full-size-roll.pdf"):
        assert (built / "templates" / name).stat().st_size > 1000
    assert (built / "marking" / "parts.pdf").stat().st_size > 1000
    assert main(["verify", str(built)]) == 0
    said = capsys.readouterr().out
    for name in ("marking/parts.pdf", "templates/full-size-roll.pdf", "cutting/bed-1.dxf"):
        assert name in said
    assert "NOT GOOD" not in said


def test_no_file_for_the_bed_is_longer_than_it(built):
    record = json.loads((built / "summary.json").read_text(encoding="utf-8"))
    assert record["bed"]["blanks"]
    assert max(blank["length_mm"] for blank in record["bed"]["blanks"]) <= 1300.0
    assert len(list((built / "cutting").glob("bed-*.dxf"))) == len(record["bed"]["blanks"])


def test_the_roll_is_as_wide_as_asked(built):
    document = pypdfium2.PdfDocument(built / "templates" / "full-size-roll.pdf")
    _length, width = document[0].get_size()
    assert width == pytest.approx(914.4 / 25.4 * 72.0, abs=0.1)


@pytest.mark.parametrize(
    ("view", "file"),
    [("body plan", "a.svg"), ("part sheet side", "b.pdf"), ("sheet blank-1", "c.pdf")],
)
def test_views_are_exported(view, file, tmp_path, capsys):
    path = tmp_path / file
    assert main(["export", "stone_punt", "--view", view, "--out", str(path)]) == 0
    assert path.stat().st_size > 500
    assert "Wrote" in capsys.readouterr().out


def test_views_are_listed_and_wrong_asking_is_refused(tmp_path, capsys):
    assert main(["export", "stone_punt", "--view", "list"]) == 0
    assert "lines plan" in capsys.readouterr().out.splitlines()
    for words in (
        ["export", "stone_punt", "--view", "keel", "--out", str(tmp_path / "a.svg")],
        ["export", "stone_punt", "--view", "profile"],
        ["build", "stone_punt", "--out", str(tmp_path / "b"), "--roll", "-3"],
        ["build", "stone_punt", "--out", str(tmp_path / "b"), "--tiles", "rudder"],
        ["build", "stone_punt", "--out", str(tmp_path / "b"), "--bed", "20"],
    ):
        assert main(words) == 2
        assert capsys.readouterr().err
    assert not list(tmp_path.iterdir())
