"""The page on which is written what the tape found."""

from types import SimpleNamespace

from app.papers.book.as_built_page import ROOM, _blanks
from app.pipeline import Pipeline
from app.project.laying import MeasuredBlank
from app.project.samples import load_sample


def rows(*measured: MeasuredBlank) -> dict[str, tuple[str, ...]]:
    project = load_sample("stone_punt")
    sheets = project.sheets.model_copy(
        update={"seconds": 1.0, "tries": 20, "measured": tuple(measured)}
    )
    boat = Pipeline().run(project.model_copy(update={"sheets": sheets}))
    book = SimpleNamespace(boat=boat, printed=lambda value: f"{value:.0f}")
    return {row[0]: row for row in _blanks(book).rows}  # type: ignore[arg-type]


def test_only_what_was_taped_is_filled_in() -> None:
    """A slip that is told (twice the sheets' length) stands on the page as it was typed, so that
    it is seen; a width nobody taped keeps its room."""
    drawn = rows()
    names = list(drawn)
    assert all(row[2] == row[4] == ROOM for row in drawn.values())
    found = rows(
        MeasuredBlank(blank=names[0], length=9764.0),
        MeasuredBlank(blank=names[1]),
    )
    assert found[names[0]][1:] == (drawn[names[0]][1], "9764", drawn[names[0]][3], ROOM)
    assert found[names[1]][1:] == drawn[names[1]][1:]
