"""A table printed in feet, from the sheer down, through the commands to its papers."""

import json

from app.cli import main
from tests.unit.test_new_projects_order import FLAT


def test_papers_in_feet_say_what_was_reckoned_whatever_rounding_was_chosen(tmp_path):
    """Rounded to half a millimetre and printed to a sixteenth, figures strayed twice as far as the
    sheets admitted."""
    table, boat = tmp_path / "pond.csv", tmp_path / "pond.scrieve"
    table.write_text(FLAT, encoding="utf-8")
    assert main(["new", str(boat), "--offsets", str(table)]) == 0
    record = json.loads(boat.read_text(encoding="utf-8"))
    record["marking"] |= {"rounding": 0.5, "spacing": 200.0}
    boat.write_text(json.dumps(record), encoding="utf-8")
    out = tmp_path / "papers"
    main(["build", str(boat), "--out", str(out), "--only", "marking", "--seconds", "2"])
    rows = json.loads((out / "summary.json").read_text(encoding="utf-8"))["readback"]
    assert {row["file"] for row in rows} >= {"marking/marking-sheets.pdf", "marking/ordinates.csv"}
    for row in rows:
        assert row["largest_difference_mm"] <= row["tolerance_mm"], row
        assert not row["notes"], row
