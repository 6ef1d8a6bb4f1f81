"""Tables as a page shows them: words gathered into rows, found again by the table's title."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.readback.streams import PageContent, Tag, Word

LEVEL = 0.4
"""Words of a row stand no further than this from one another in height, mm."""

MORE = " (continued)"


@dataclass(frozen=True)
class TableSeen:
    """A table as drawn: its title, what it tells of ("" when it says nothing), and its rows under
    the title from the top, each its words from the left."""

    title: str
    about: str
    rows: tuple[tuple[Word, ...], ...]

    def cells(self) -> Iterator[tuple[str, ...]]:
        """The texts of every row; empty cells are not there."""
        for row in self.rows:
            yield tuple(word.text.strip() for word in row)


def tables_of(content: PageContent) -> list[TableSeen]:
    """All tables of a page in the order they were drawn."""
    words: dict[int, list[Word]] = {}
    order: list[Tag] = []
    for word in content.words:
        tag = next((t for t in word.tags if t.name == "Table"), None)
        if tag is None:
            continue
        if id(tag) not in words:
            order.append(tag)
        words.setdefault(id(tag), []).append(word)
    found = []
    for tag in order:
        rows = in_rows(words[id(tag)])
        title = rows[0][0].text.removesuffix(MORE).strip()
        found.append(TableSeen(title, str(tag.value("About")), tuple(rows[1:])))
    return found


_SHEET = re.compile(r"(\d+) of (\d+)")


def out_of_order(pages: Sequence[PageContent]) -> list[str]:
    """Framed pages that do not say which of how many they are, as they should."""
    notes = []
    for number, page in enumerate(pages, 1):
        told = [m.groups() for word in page.words if (m := _SHEET.fullmatch(word.text.strip()))]
        if (str(number), str(len(pages))) not in told:
            said = " of ".join(told[-1]) if told else "nothing"
            notes.append(f"page {number} of {len(pages)} says it is {said}.")
    return notes


def in_rows(words: Sequence[Word]) -> list[tuple[Word, ...]]:
    """Words gathered by height, from the top and from the left."""
    rows: list[list[Word]] = []
    for word in sorted(words, key=lambda w: (-w.y, w.x)):
        if rows and abs(rows[-1][0].y - word.y) < LEVEL:
            rows[-1].append(word)
        else:
            rows.append([word])
    return [tuple(sorted(row, key=lambda w: w.x)) for row in rows]
