"""A built folder read back: each kind of file damaged in turn is caught, and only it."""

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from app.build import build_all
from app.pipeline import Pipeline
from app.project.samples import load_sample
from app.readback.book import check_book
from app.readback.folder import verify_folder
from lofting.findings import Refused
from tests.generators.damaged import changed_pdf, cut_short, without_page


@pytest.fixture(scope="module")
def boat():
    project = load_sample("stone_punt")
    marking = project.marking.model_copy(
        update={
            "part_sheets": True,
            "roll_width": 914.4,
            "paper": "A2",
            "tile_parts": ("side",),
        }
    )
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 20})
    return Pipeline().run(project.model_copy(update={"marking": marking, "sheets": sheets}))


@pytest.fixture(scope="module")
def built(boat, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("punt") / "boat"
    rows = build_all(boat, out, on="2026-01-01")
    assert all(row.good for row in rows), rows
    return out


FILES = (
    "cutting/blank-1.dxf",
    "cutting/blank-2.dxf",
    "cutting/all-parts.dxf",
    "marking/marking-sheets.pdf",
    "marking/parts.pdf",
    "marking/ordinates.csv",
    "templates/full-size-A2.pdf",
    "templates/full-size-roll.pdf",
    "build-book.pdf",
    "stores.csv",
    "work.csv",
    "afloat.csv",
)


def damage(path: Path) -> None:
    """What a careless hand would do to a file of this kind."""
    if path.suffix == ".dxf":
        text = path.read_text()
        place = text.index("LWPOLYLINE", text.index("ENTITIES"))
        x = text.index("\n 10\n", place) + 5
        end = text.index("\n", x)
        moved = float(text[x:end]) + 0.4
        path.write_text(text[:x] + f"{moved}" + text[end:])
    elif path.suffix == ".csv":
        rows = path.read_text().splitlines()
        hurt = next(k for k, row in enumerate(rows) if k and any(c.isdigit() for c in row))
        digit = next(c for c in rows[hurt][::-1] if c.isdigit())
        at = rows[hurt].rindex(digit)
        rows[hurt] = rows[hurt][:at] + "x" + rows[hurt][at + 1 :]
        path.write_text("\n".join(rows) + "\n")
    elif path.name.startswith("full-size-A2"):
        without_page(path, path.with_suffix(".new"), 3)
        path.with_suffix(".new").replace(path)
    else:
        without_page(path, path.with_suffix(".new"), 0 if "roll" in path.name else 1)
        path.with_suffix(".new").replace(path)


def test_every_file_is_there_and_good(built: Path) -> None:
    rows = verify_folder(built)
    assert sorted(row.file for row in rows) == sorted(FILES)
    assert all(row.good for row in rows), [row for row in rows if not row.good]


def test_each_kind_of_file_damaged_is_caught(built: Path, tmp_path: Path) -> None:
    folder = tmp_path / "damaged"
    shutil.copytree(built, folder)
    for name in FILES:
        damage(folder / name)
    for row in verify_folder(folder):
        assert not row.good, row.file


@pytest.mark.parametrize("name", ["cutting/blank-1.dxf", "build-book.pdf", "marking/ordinates.csv"])
def test_a_file_cut_short_or_gone_is_caught(built: Path, tmp_path: Path, name: str) -> None:
    folder = tmp_path / "short"
    shutil.copytree(built, folder)
    cut_short(built / name, folder / name, 0.6)
    assert [row.file for row in verify_folder(folder) if not row.good] == [name]
    (folder / name).unlink()
    assert [row.file for row in verify_folder(folder) if not row.good] == [name]


def test_a_folder_without_its_project_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="nothing to compare"):
        verify_folder(tmp_path)


def figure_in_book(boat, what: str) -> tuple[str, str]:
    """A figure that the book prints, and a wrong one in its place."""
    lines = boat.lines.lines
    if what == "beam":
        beam = 2.0 * max(float(line.faired[:, 1].max()) for line in lines)
        return f"{beam:.0f} mm", f"{beam + 7:.0f} mm"
    if what == "weight":
        mass = boat.weights.lines[0].mass
        return f"{mass:.2f}", f"{mass + 1.0:.2f}"
    quantity = next(line.quantity for line in boat.stores.lines if line.quantity > 1.5)
    text = f"{quantity:.2f}".rstrip("0").rstrip(".")
    return text, f"{text}1"


@pytest.mark.parametrize("what", ["beam", "weight", "stores"])
def test_a_wrong_figure_in_the_book_is_caught(boat, built: Path, tmp_path: Path, what: str) -> None:
    assert check_book(built / "build-book.pdf", boat).good
    right, wrong = figure_in_book(boat, what)
    out = tmp_path / "wrong.pdf"
    coded = [f"({text}) Tj".encode("ascii") for text in (right, wrong)]
    assert changed_pdf(built / "build-book.pdf", out, *coded) == 1
    row = check_book(out, boat)
    assert not row.good
    assert any("in place of" in note for note in row.notes), row.notes


def test_offsets_moved_in_the_book_are_caught(boat, built: Path) -> None:
    line = boat.lines.lines[0]
    moved = line.faired + [0.0, 0.0, 4.0]
    lines = replace(boat.lines, lines=(replace(line, faired=moved), *boat.lines.lines[1:]))
    row = check_book(built / "build-book.pdf", replace(boat, lines=lines))
    assert any(note.startswith("Heights above base") for note in row.notes)


def test_the_summary_tells_how_far_each_file_is_off(built: Path) -> None:
    record = json.loads((built / "summary.json").read_text(encoding="utf-8"))
    assert sorted(row["file"] for row in record["readback"]) == sorted(FILES)


def test_joints_in_the_book_go_by_the_names_on_the_marking_sheets(built):
    """A plank is starboard or port everywhere, not the first or second of a pair here."""
    book = text_of(built / "build-book.pdf")
    sheets = text_of(built / "marking" / "marking-sheets.pdf")
    joints = book.split("Joints, x along the part")[1].split("Planing the scarfs")[0]
    for side in ("side, starboard", "side, port"):
        assert side in joints
        assert side in sheets


def text_of(path):
    return " ".join(" ".join(p.extract_text() for p in PdfReader(path).pages).split())
