"""What was built before stays whole whatever goes wrong while building anew, and the builder is
told in one sentence."""

import errno
import os
from dataclasses import replace
from pathlib import Path

import pytest

import app.build.groups as groups
from app.build import build_all, fresh_folder
from app.build.views import view_names, view_of, write_view
from app.cutting.dxf import write_parts_dxf
from app.cutting.svg import write_svg
from app.papers.choices import full_size_parts
from app.pipeline import Boat, Pipeline, Stage
from app.project.samples import load_sample
from lofting.findings import Refused

FULL = Path("/dev/full")
"""The kernel's own full disk (Linux, full(4))."""


@pytest.fixture(scope="module")
def boat() -> Boat:
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(update={"seconds": 1.0, "tries": 10})
    return Pipeline().run(project.model_copy(update={"sheets": sheets}))


def with_marking(boat: Boat, **changes: object) -> Boat:
    marking = boat.project.marking.model_copy(update=changes)
    return replace(boat, project=boat.project.model_copy(update={"marking": marking}))


@pytest.fixture
def before(boat: Boat, tmp_path: Path) -> Path:
    out = tmp_path / "boat"
    build_all(boat, out, ("stores",), on="2026-01-01")
    return out


def untouched(out: Path) -> bool:
    return sorted(p.name for p in out.iterdir()) == [
        "project.scrieve",
        "stores.csv",
        "summary.json",
        "work.csv",
    ] and [p.name for p in out.parent.iterdir()] == ["boat"]


@pytest.mark.parametrize("trouble", [errno.ENOSPC, errno.EACCES, errno.EROFS])
def test_a_full_disk_half_way_leaves_what_was_there(boat, before, monkeypatch, trouble) -> None:
    def fails(*_given: object) -> tuple:
        raise OSError(trouble, os.strerror(trouble))

    monkeypatch.setitem(groups.WRITERS, "afloat", fails)
    with pytest.raises(Refused, match="cannot be written") as said:
        build_all(boat, before, ("marking", "afloat"))
    assert os.strerror(trouble).lower() in said.value.reason
    assert "untouched" in said.value.remedy
    assert untouched(before)


def test_a_folder_held_by_another_program_stays(boat, before, monkeypatch) -> None:
    rename = os.rename

    def held(source, target) -> None:
        if Path(source) == before:
            raise PermissionError(errno.EACCES, "in use by another program")
        rename(source, target)

    monkeypatch.setattr(os, "rename", held)
    with pytest.raises(Refused, match="in use"):
        build_all(boat, before, ("stores", "afloat"))
    monkeypatch.undo()
    assert untouched(before)


def test_things_not_built_here_are_not_removed(boat, tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "launching.jpg").write_bytes(b"x")
    with pytest.raises(Refused, match="other things"), fresh_folder(tmp_path / "photos"):
        pass
    (tmp_path / "a file").write_text("x")
    for out in (tmp_path / "a file", tmp_path / "a file" / "below"):
        with pytest.raises(Refused):
            build_all(boat, out, ("stores",))


def test_a_single_file_on_a_full_disk_is_refused(boat) -> None:
    assert FULL.exists(), "these tests need Linux's /dev/full"
    with pytest.raises(Refused, match="cannot be written"):
        write_parts_dxf(FULL, boat.parts.parts)
    with pytest.raises(Refused, match="cannot be written"):
        write_svg(FULL, view_of(boat, "profile"))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"paper": "50 x 50"}, "too little to tile with"),
        ({"margin": 80.0}, "too little to tile with"),
        ({"paper": "foolscap"}, "no paper known"),
        ({"measured_x": 10.0}, "is said to measure"),
        ({"roll_width": 200.0}, "roll 200 mm wide"),
        ({"tile_parts": ("rudder",)}, "no part is called"),
        ({"bed_length": 100.0}, "takes no part"),
    ],
    ids=lambda given: next(iter(given)) if isinstance(given, dict) else "",
)
def test_choices_that_make_no_paper_are_refused(boat, before, changes, words) -> None:
    with pytest.raises(Refused, match=words):
        build_all(with_marking(boat, **changes), before)
    assert untouched(before)


@pytest.mark.parametrize(("spacing", "words"), [(0.0, "1 mm or more"), (9000.0, "is longer")])
def test_a_spacing_that_marks_nothing_is_refused(boat, before, spacing: float, words: str) -> None:
    wrong = Pipeline().run(with_marking(boat, spacing=spacing).project)
    with pytest.raises(Refused, match=words):
        build_all(wrong, before)
    assert untouched(before)


def test_wanted_parts_come_in_the_boat_s_order(boat) -> None:
    names = [part.name for part in boat.parts.parts]
    asked = with_marking(boat, tile_parts=(names[2], names[0]))
    found = full_size_parts(asked.project, boat.parts.parts)
    assert [part.name for part in found] == [names[0], names[2]]


@pytest.mark.parametrize("suffix", [".svg", ".pdf"])
def test_every_view_is_written(boat, tmp_path: Path, suffix: str) -> None:
    names = view_names(boat)
    assert {"lines plan", "body plan", "shaded view", "sheet blank-1"} <= set(names)
    for number, name in enumerate(names):
        path = tmp_path / f"{number}{suffix}"
        write_view(boat, name, path, on="2026-01-01")
        assert path.stat().st_size > 500
    assert len(list(tmp_path.iterdir())) == len(names)


def test_a_view_that_is_none_is_refused(boat, tmp_path: Path) -> None:
    on = "2026-01-01"
    with pytest.raises(Refused, match="no such view"):
        write_view(boat, "part rudder", tmp_path / "a.svg", on=on)
    with pytest.raises(Refused, match="SVG or PDF"):
        write_view(boat, "profile", tmp_path / "a.jpg", on=on)
    with pytest.raises(Refused, match="cannot be written"):
        write_view(boat, "profile", tmp_path / "nowhere" / "a.pdf", on=on)
    early = Pipeline().run(load_sample("shed_dory"), Stage.PARTS, mending=False)
    assert not {"lines plan", "shaded view"} & set(view_names(early))
