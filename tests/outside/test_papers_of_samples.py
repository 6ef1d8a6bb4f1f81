"""Every paper of every sample measured with a reader that did not write it: pdfium for type and
its place, poppler for complaints. Type under 9 pt cannot be read at arm's length in a shed (common
practice, no source); ISO 32000 for what a page is."""

import ctypes
import math
import subprocess

import pypdfium2
import pypdfium2.raw as raw
import pytest
import shapely

from app.build.groups import write_groups
from app.build.writing import make_heading
from app.pipeline import Pipeline
from app.project.samples import load_sample

SAMPLES = ("lake_skiff", "quay_pram", "marsh_canoe", "stone_punt", "shed_dory")
LEAST = 8.99
"""points, with a hair for rounding."""
HAIR = 0.3
"""points that boxes of two texts may share."""


@pytest.fixture(scope="module", params=SAMPLES)
def papers(request, tmp_path_factory):
    project = load_sample(request.param)
    widest = 1300.0  # the widest part of any sample, and room
    marking = project.marking.model_copy(
        update={"part_sheets": True, "roll_width": widest, "paper": "A3", "loose_sheets": True}
    )
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 10})
    boat = Pipeline().run(project.model_copy(update={"marking": marking, "sheets": sheets}))
    folder = tmp_path_factory.mktemp(request.param)
    write_groups(boat, folder, ("marking", "templates", "book"), make_heading(boat, "2026-01-01"))
    found = sorted(folder.rglob("*.pdf"))
    assert len(found) == 5
    return found


def texts(page: pypdfium2.PdfPage) -> list[tuple[float, float, float, float, float]]:
    """(left, foot, right, top, size) of every text on the page itself, points."""
    found = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=1):
        size = ctypes.c_float()
        raw.FPDFTextObj_GetFontSize(item.raw, ctypes.byref(size))
        matrix = item.get_matrix()
        tall = float(size.value) * math.hypot(matrix.c, matrix.d)
        found.append((*item.get_bounds(), tall))
    return found


def test_no_type_is_small_none_leaves_the_page_and_none_overlaps(papers):
    checked = 0
    for path in papers:
        document = pypdfium2.PdfDocument(path)
        for number in range(len(document)):
            page = document[number]
            width, height = page.get_size()
            found = texts(page)
            boxes = [shapely.box(*one[:4]) for one in found]
            for left, foot, right, top, tall in found:
                assert tall >= LEAST, (path.name, number + 1, tall)
                assert 0.0 <= left < right <= width, (path.name, number + 1)
                assert 0.0 <= foot < top <= height, (path.name, number + 1)
            pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects")
            for i, j in pairs.T:
                if i < j:
                    a, b = found[i], found[j]
                    across = min(a[2], b[2]) - max(a[0], b[0])
                    up = min(a[3], b[3]) - max(a[1], b[1])
                    assert not (across > HAIR and up > HAIR), (path.name, number + 1, a, b)
            checked += len(found)
        document.close()
    assert checked > 1000


def test_poppler_has_nothing_to_complain_of(papers):
    for path in papers:
        said = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True)
        assert not said.stderr
        fonts = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True)
        assert not fonts.stderr
        rows = fonts.stdout.splitlines()[2:]
        assert rows
        assert all(row.split()[-5] == "yes" for row in rows), fonts.stdout  # embedded
