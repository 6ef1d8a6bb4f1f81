"""Laps and spreaders stand in the build book, and a wrong figure of either is caught."""

from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from app.build import build_all
from app.pipeline import Boat, Pipeline
from app.project.document import SplitChoice
from app.project.samples import load_sample
from app.readback.book import check_book
from app.summary import summary
from app.together import together_words


def built(project, out: Path) -> tuple[Boat, Path]:
    sheets = project.sheets.model_copy(update={"tries": 1, "seconds": 1.0})
    boat = Pipeline().run(project.model_copy(update={"sheets": sheets}))
    rows = build_all(boat, out, ("book",))
    assert all(row.good for row in rows), rows
    return boat, out / "build-book.pdf"


@pytest.fixture(scope="module")
def lapped(tmp_path_factory) -> tuple[Boat, Path]:
    punt = load_sample("stone_punt")
    split = SplitChoice(plank="side", joint="upper strake laps the lower")
    planking = punt.planking.model_copy(update={"splits": (split,)})
    out = tmp_path_factory.mktemp("lapped") / "boat"
    return built(punt.model_copy(update={"planking": planking}), out)


@pytest.fixture(scope="module")
def held(tmp_path_factory) -> tuple[Boat, Path]:
    return built(load_sample("shed_dory"), tmp_path_factory.mktemp("held") / "boat")


def words(path: Path) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(path).pages)


def test_a_lap_is_told_in_book_summary_and_words(lapped: tuple[Boat, Path]) -> None:
    boat, path = lapped
    assert boat.together is not None
    (lap,) = boat.together.laps
    assert "side upper strake on side lower strake" in words(path)
    (told,) = summary(boat)["together"]["laps"]
    assert (told["line"], told["over"]) == ("side seam", "side upper strake")
    assert told["hidden_edge_planed_mm"] == pytest.approx(lap.land, abs=0.006)
    assert any("lies on side lower strake within" in line for line in together_words(boat))
    worse = replace(lap, gap=lap.gap + 0.4)
    fit = replace(boat.together, laps=(worse,))
    notes = check_book(path, replace(boat, together=fit)).notes
    assert any(note.startswith("lap at side seam") for note in notes), notes


def test_a_spreader_is_told_in_book_summary_and_words(held: tuple[Boat, Path]) -> None:
    boat, path = held
    made = boat.panel_boat
    assert made is not None
    (stick,) = made.sprung.spreaders
    assert "midship spreader" in words(path)
    (told,) = summary(boat)["together"]["spreaders"]
    assert (told["name"], told["length_mm"]) == ("midship spreader", 1290.0)
    assert any(line.startswith("midship spreader, 1290 mm") for line in together_words(boat))
    for wrong, note in (
        (replace(stick, length=stick.length + 5.0), "spreader midship spreader"),
        (replace(stick, push=stick.push + 9.0), "push of midship spreader"),
    ):
        other = replace(made, sprung=replace(made.sprung, spreaders=(wrong,)))
        notes = check_book(path, replace(boat, sprung=other)).notes
        assert any(found.startswith(note) for found in notes), notes
