"""The weights page of the build book."""

import pytest
from pypdf import PdfReader

from app.build import build_all
from app.pipeline import Pipeline
from app.project.samples import load_sample


@pytest.mark.parametrize(
    ("sample", "sewn", "placed"),
    [("shed_dory", False, False), ("shed_dory", True, True), ("quay_pram", True, True)],
)
def test_places_stand_only_where_parts_have_one(tmp_path, sample, sewn, placed):
    project = load_sample(sample)
    if not sewn:  # flat panels that no seam joins make no boat
        plan = project.plan.model_copy(update={"seams": ()})
        project = project.model_copy(update={"plan": plan})
    project = project.model_copy(
        update={"sheets": project.sheets.model_copy(update={"tries": 1, "seconds": 1.0})}
    )
    rows = build_all(Pipeline().run(project), tmp_path / "out", ("book",))
    assert rows
    assert all(row.good for row in rows)
    pages = [page.extract_text() for page in PdfReader(tmp_path / "out" / "build-book.pdf").pages]
    weights = next(text for text in pages if "Line by line" in text)
    assert "empty boat" in weights
    assert ("centre, above base" in weights) is placed
