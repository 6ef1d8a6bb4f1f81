"""The builder's choices for cutting files reach the files, and every form reads back good."""

import pytest

from app.build import build_all
from app.pipeline import Pipeline
from app.project.samples import load_sample

CHOICES = (
    {"file_units": "in"},
    {"file_curves": "points"},
    {"file_form": "R12"},
    {"sheet_turned_over": True, "tool_diameter": 6.0},
)


def boat_with(**choices):
    project = load_sample("quay_pram")
    marking = project.marking.model_copy(update=choices)
    sheets = project.sheets.model_copy(update={"seconds": 3.0})
    return Pipeline().run(project.model_copy(update={"marking": marking, "sheets": sheets}))


@pytest.mark.parametrize("choices", CHOICES, ids=lambda c: next(iter(c)))
def test_every_form_reads_back(tmp_path, choices):
    rows = build_all(boat_with(**choices), tmp_path / "out", ("cutting",))
    assert len(rows) >= 3
    assert all(row.good for row in rows), rows
    text = (tmp_path / "out" / "cutting" / "all-parts.dxf").read_text()
    if choices.get("file_units") == "in":
        assert "$INSUNITS\n 70\n1\n" in text
    if choices.get("file_form") == "R12":
        assert "AC1009" in text
        assert "LWPOLYLINE" not in text


def test_a_roll_is_written_on_request(tmp_path):
    build_all(boat_with(roll_width=914.4), tmp_path / "out", ("templates",))
    assert (tmp_path / "out" / "templates" / "full-size-roll.pdf").read_bytes()[:5] == b"%PDF-"
