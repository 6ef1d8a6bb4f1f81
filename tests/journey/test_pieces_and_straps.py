"""Boats whose long parts are cut in pieces, or whose sheets are strapped: joints are counted on
every paper, and what was built reads back."""

import json

import pytest
from pypdf import PdfReader

from app.cli import main
from app.project.laying import MeasuredBlank
from app.project.samples import load_sample
from app.project.storage import save


@pytest.mark.parametrize(
    ("sample", "method", "joints"),
    [
        # by hand: bottom and side of the skiff are longer than one sheet and shorter than two,
        # two copies of each; of the dory the bottom is one part, the sides are two
        ("lake_skiff", "piece first", 4),
        ("shed_dory", "piece first", 3),
        ("lake_skiff", "butt strap", 2),
    ],
)
def test_joints_are_counted_and_the_folder_reads_back(
    tmp_path, capsys, sample: str, method: str, joints: int
) -> None:
    project = load_sample(sample)
    choices = {"method": method, "seconds": 2.0, "tries": 30}
    # a trifle shorter than drawn, as sheets are: everything is made for the blank as it is
    choices["measured"] = (MeasuredBlank(blank="blank-1", width=1219.0),)
    sheets = project.sheets.model_copy(update=choices)
    save(tmp_path / "boat.scrieve", project.model_copy(update={"sheets": sheets}))
    out = tmp_path / "out"
    assert main(["build", str(tmp_path / "boat.scrieve"), "--out", str(out)]) == 0
    assert " blanks (least possible" in (said := capsys.readouterr().out)
    assert f", {joints} joints. " in said
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert summary["joints"]["count"] == joints
    assert main(["verify", str(out)]) == 0, capsys.readouterr().out


@pytest.mark.parametrize(("temperature", "warned"), [(6.0, True), (18.0, False)])
def test_the_book_warns_of_a_cold_shed(tmp_path, temperature: float, warned: bool) -> None:
    """Makers' sheets mostly want 10 degrees and more (from memory)."""
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    working = project.working.model_copy(update={"temperature": temperature})
    changed = project.model_copy(update={"sheets": sheets, "working": working})
    save(tmp_path / "boat.scrieve", changed)
    out = str(tmp_path / "out")
    assert main(["build", str(tmp_path / "boat.scrieve"), "--out", out, "--only", "book"]) == 0
    pages = [page.extract_text() for page in PdfReader(tmp_path / "out" / "build-book.pdf").pages]
    (order,) = (page for page in pages if "a shed at" in page)
    assert f"a shed at {temperature:g}" in order
    assert ("never with an open flame" in order) is warned
