"""The weights page of the build book."""

import pytest
from pypdf import PdfReader

from app.build import build_all
from app.pipeline import Pipeline
from app.project.samples import load_sample


@pytest.mark.parametrize(("sample", "placed"), [("shed_dory", False), ("quay_pram", True)])
def test_places_stand_only_where_parts_have_one(tmp_path, sample, placed):
    project = load_sample(sample)
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
