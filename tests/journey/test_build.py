"""Every sample through the whole job: all files written, read back within tolerance."""

import json

import pytest

from app.cli import main

SAMPLES = ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt", "shed_dory")
FLAT_PANELS = "shed_dory"
FILES = (
    "summary.json",
    "project.scrieve",
    "cutting/blank-1.dxf",
    "cutting/all-parts.dxf",
    "marking/marking-sheets.pdf",
    "marking/ordinates.csv",
    "templates/full-size-A4.pdf",
    "build-book.pdf",
    "stores.csv",
    "work.csv",
)


@pytest.fixture(scope="module", params=SAMPLES)
def built(request, tmp_path_factory):
    out = tmp_path_factory.mktemp(request.param) / "boat"
    status = main(["build", request.param, "--out", str(out), "--seconds", "4"])
    return request.param, out, status


def test_everything_is_written_and_nothing_stands_against_cutting(built):
    _, out, status = built
    assert status == 0
    for name in FILES:
        assert (out / name).stat().st_size > 100, name
    assert [p.name for p in out.parent.iterdir()] == ["boat"]


def test_summary_holds_the_boat(built):
    name, out, _ = built
    record = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert record["project"] == name
    assert record["readback"]
    for row in record["readback"]:
        assert row["largest_difference_mm"] <= row["tolerance_mm"], row
        assert not row["notes"], row
    assert record["nest"]["sheets"] >= record["nest"]["sheets_lower_bound"] > 0
    assert record["weight"]["total_kg"] > 10
    assert abs(record["afloat"]["trim_deg"]) < 2.5
    assert record["afloat"]["freeboard_min_mm"] > 150
    laid = sum(len(blank["parts"]) for blank in record["blanks"])
    assert laid == sum(part["quantity"] for part in record["parts"])
    assert record["seams"]
    for seam in record["seams"]:
        # figures rounded to a millimetre leave a little on a plan of flat panels
        assert abs(seam["difference_mm"]) < (1.0 if name == FLAT_PANELS else 0.1)


def test_verify_agrees(built, capsys):
    _, out, _ = built
    assert main(["verify", str(out)]) == 0
    assert "NOT GOOD" not in capsys.readouterr().out
