"""Wrong values of a project are refused in a builder's words, not in the reader's."""

import json

import pytest

from app.project.document import Project
from app.project.editing import changed
from app.project.samples import load_sample
from app.project.storage import read, written
from lofting.findings import Refused
from nesting.reasons import no_stock
from nesting.stock import Sheet


@pytest.mark.parametrize(
    ("place", "value", "words"),
    [
        ("slope", 0, "it must be 4 or more."),
        ("slope", 1000, "it must be 20 or less."),
        ("clearance", -5, "it must be 0 or more."),
        ("clearance", "wide", "it must be a number."),
        ("clearances", 3, "no such name is known here."),
        ("method", "nails", "it must be one of"),
        ("seed", 1.5, "it must be a whole number."),
    ],
)
def test_a_wrong_value_in_a_file_is_told_plainly(place, value, words):
    raw = json.loads(written(load_sample("stone_punt")))
    raw["sheets"][place] = value
    with pytest.raises(Refused) as refused:
        read(json.dumps(raw))
    assert refused.value.place == f"project, sheets / {place}"
    assert refused.value.reason.startswith(words)
    assert "nput" not in refused.value.reason


def test_a_wrong_value_typed_is_told_plainly():
    with pytest.raises(Refused, match="it must be 0 or more"):
        changed(Project().sheets, clearance=-1.0)


def test_sheets_that_cannot_be_used_are_not_offered_in_place_of_themselves():
    there = Sheet("okoume", 6.0, 2440.0, 1220.0)
    said = no_stock("okoume", 6.0, (), (there,))
    assert "make these parts of okoume 6" not in said.remedy
    assert "keeps the sheets that are there from being used" in said.remedy
    assert "okoume 6 mm, which is there" in no_stock("okoume", 9.0, (), (there,)).remedy
