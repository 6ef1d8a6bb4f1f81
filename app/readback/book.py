"""The build book read back: its tables and cards word by word, compared with the model, and the
marking sheets bound into it lofted again."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import degrees
from pathlib import Path

import numpy as np

from app.drawing.copies import whole_name
from app.pipeline import Boat
from app.project import conversion
from app.readback.papertables import TableSeen, out_of_order, tables_of
from app.readback.sheets import Section, lofted_again, read_section
from app.readback.streams import PageContent, read_pages
from app.readback.tables import allowed
from app.summary import ReadBack
from lofting.fairing import Lines
from lofting.findings import Refused
from lofting.lengths import Notation, read_length
from lofting.offsets import Role
from nesting.layout import Nest

Row = tuple[str, ...]

OFFSETS = {"Half-breadths at stations": 1, "Heights above base at stations": 2}
SET_UP = ("At frames and bulkheads", "At stations")

FRAME = 20
"""A page with no more words and lines than its frame holds nothing."""

MASS = 0.51
"""Masses of load and boat are printed to a kilogram."""

DEGREE = 0.051
"""Angles are printed to a tenth of a degree."""


@dataclass
class _Book:
    """What was read, and what is wrong with it.

    Attributes:
        step: to which lengths are printed, mm. worst: the largest difference of a length, mm.
        compared: how many figures were.
    """

    boat: Boat
    notation: Notation
    step: float
    tables: list[TableSeen] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    worst: float = 0.0
    compared: int = 0

    def rows(self, title: str) -> list[Row]:
        """All rows of the tables of a title, in order."""
        return [row for table in self.tables if table.title == title for row in table.cells()]

    def length(self, what: str, text: str, true: float) -> None:
        """Compare a printed length with the model's, mm."""
        try:
            value = read_length(text.removesuffix(" mm"), self.notation)
        except ValueError:
            self.notes.append(f'{what}: "{text}" is no length.')
            return
        off = abs(value - true)
        self.compared += 1
        if off > 0.51 * self.step:
            self.worst = max(self.worst, off)
            self.notes.append(f"{what}: it says {text} in place of {true:.1f} mm.")

    def number(self, what: str, text: str, true: float, within: float) -> None:
        """Compare a printed number with the model's."""
        self.compared += 1
        try:
            if abs(float(text) - true) <= within:
                return
        except ValueError:
            pass
        self.notes.append(f"{what}: it says {text} in place of {true:.3f}.")

    def lengths(self, what: str, cells: Sequence[str], true: Sequence[float]) -> None:
        """Compare a row of lengths."""
        if len(cells) != len(true):
            self.notes.append(f"{what}: {len(cells)} figures in place of {len(true)}.")
            return
        for text, value in zip(cells, true, strict=True):
            self.length(what, text, value)


STEPS = {Notation.MILLIMETRES: 1.0, Notation.CENTIMETRES: 1.0, Notation.METRES: 1.0}
"""To what lengths are printed when nothing else is asked, mm; a sixteenth of an inch in feet and
inches."""


def check_book(path: Path, boat: Boat) -> ReadBack:
    """Read every page and compare what it says with the model: particulars, faired offsets,
    set-up table, sizes of parts, bevels, joints, seams and gaps, frames of flat panels, weights,
    stores, load cases; the marking sheets bound in are lofted again.

    The difference is the largest of the parts lofted again; a wrong or missing figure is a note.
    """
    rules = conversion.marking_rules(boat.project)
    tolerance = allowed(boat.marks or (), rules)
    notation = Notation(boat.project.plan.notation)
    book = _Book(boat, notation, STEPS.get(notation, 25.4 / 16.0))
    sections: dict[str, Section] = {}
    pages: list[PageContent] = []
    try:
        for content in read_pages(path):
            pages.append(content)
            found = tables_of(content)
            book.tables += [table for table in found if not table.about]
            for table in found:
                if table.about:
                    read_section(table, sections)
        if boat.nest is not None and boat.marks is not None:
            blanks, laid = boat.nest.blanks, boat.laid_parts
            row = lofted_again(path.name, sections, blanks, laid, boat.marks, rules, notation)
            book.notes += row.notes
            book.worst = max(book.worst, row.largest_difference)
    except Refused as refused:
        return ReadBack(path.name, tolerance, float("inf"), (refused.reason,))
    _particulars(book)
    _hull(book)
    _cards(book, pages)
    _joints(book)
    _seams(book)
    _sprung(book)
    _bevels(book)
    _timber(book)
    _weights(book)
    _stores(book)
    _cases(book)
    _names(book, pages)
    book.notes += out_of_order(pages)
    return ReadBack(path.name, tolerance, book.worst, tuple(book.notes))


def _names(book: _Book, pages: Sequence[PageContent]) -> None:
    """Every part, blank and load case is in the book, and no page is empty."""
    boat = book.boat
    text = " ".join(word.text for page in pages for word in page.words)
    wanted = [part.name for part in boat.parts.parts] if boat.parts is not None else []
    wanted += [blank.name for blank in boat.nest.blanks] if boat.nest is not None else []
    wanted += [case.case.name for case in boat.afloat.cases] if boat.afloat is not None else []
    book.notes += [f"{name} is not in it." for name in wanted if name not in text]
    for number, page in enumerate(pages, 1):
        if len(page.words) < FRAME and len(page.paths) < FRAME:
            book.notes.append(f"page {number} is empty.")


def _particulars(book: _Book) -> None:
    boat, said = book.boat, {row[0]: row[-1] for row in book.rows("Particulars")}
    lengths: dict[str, float] = {}
    masses: dict[str, float] = {}
    counts: dict[str, int] = {}
    if boat.shape_lines is not None:
        points = np.vstack([line.faired for line in boat.shape_lines.lines])
        lengths["length over all"] = float(points[:, 0].max() - points[:, 0].min())
        lengths["beam"] = 2.0 * float(points[:, 1].max())
        lengths["depth, baseline to highest sheer"] = float(points[:, 2].max())
    if boat.weights is not None:
        masses["weight, empty"] = sum(line.mass for line in boat.weights.lines)
    if boat.afloat is not None and boat.afloat.cases:
        case = boat.afloat.cases[0]
        masses[f"displacement, {case.case.name}"] = case.mass
        lengths["draught"] = case.attitude.draught
        lengths["least freeboard"] = case.attitude.freeboard
    if boat.parts is not None:
        counts["flat parts"] = sum(part.quantity for part in boat.parts.parts)
    if boat.nest is not None:
        counts["sheets of plywood"] = sum(blank.sheets for blank in boat.nest.blanks)
        strapped = boat.project.sheets.method == "butt strap"
        counts["joints with straps" if strapped else "scarf joints"] = _joint_count(boat, boat.nest)
    for name in (*lengths, *masses, *counts):
        if name not in said:
            book.notes.append(f"particulars: {name} is missing.")
    for name, value in lengths.items():
        book.length(name, said.get(name, ""), value)
    for name, value in masses.items():
        book.number(name, said.get(name, "").removesuffix(" kg"), value, MASS)
    for name, count in counts.items():
        book.number(name, said.get(name, ""), float(count), 0.0)


def _joint_count(boat: Boat, nest: Nest) -> int:
    """Joints counted by what lies on the sheets: every sheet after a blank's first, and every
    piece after a copy's first."""
    pieces = {cut.piece: cut.part for cut in nest.cuts}
    placed = [place.part for blank in nest.blanks for place in blank.placements]
    cut = sum(name in pieces for name in placed)
    if cut and boat.parts is not None:
        own = set(pieces.values())
        cut -= sum(part.quantity for part in boat.parts.parts if part.name in own)
    return cut + sum(blank.sheets - 1 for blank in nest.blanks)


def _hull(book: _Book) -> None:
    """Faired offsets at stations, and the set-up table; blanks are not printed."""
    lines = book.boat.lines
    if lines is None:
        return
    long = [line for line in lines.lines if line.role is not Role.STEM]
    for title, axis in OFFSETS.items():
        rows = book.rows(title)
        for line in long:
            at = dict(zip(line.labels, line.faired[:, axis], strict=True))
            true = [float(at[label]) for label, _x in lines.stations if label in at]
            cells = [cell for row in rows if row[:1] == (line.name,) for cell in row[1:]]
            book.lengths(f"{title}, {line.name}", cells, true)
    stations = [(f"station {label}", x) for label, x in lines.stations]
    frames = [(frame.name, frame.x) for frame in book.boat.project.parts.frames]
    for title, places in zip(SET_UP, (frames, stations), strict=True):
        said = {row[0]: row[1:] for row in book.rows(title)}
        for label, x in places:
            _set_up_row(book, lines, f"{title}, {label}", said.get(label, ()), x)


def _set_up_row(book: _Book, lines: Lines, what: str, cells: Sequence[str], x: float) -> None:
    """x, then half-breadth, height and height above the building base of every line there."""
    true = []
    for line in lines.lines:
        at = line.batten.at_x(x) if line.role is not Role.STEM else None
        if at is not None:
            true.append((float(at[1]), float(at[2])))
    if len(cells) != 1 + 3 * len(true):
        book.notes.append(f"{what}: {len(cells)} figures in place of {1 + 3 * len(true)}.")
        return
    book.length(what, cells[0], x)
    bases = []
    for k, (half, height) in enumerate(true):
        book.length(what, cells[1 + 3 * k], half)
        book.length(what, cells[2 + 3 * k], height)
        down = read_length(cells[3 + 3 * k], book.notation)
        bases.append(down + height)
    if bases and max(bases) - min(bases) > 1.02 * book.step:
        book.notes.append(f"{what}: its heights are not from one building base.")


def _cards(book: _Book, pages: Sequence[PageContent]) -> None:
    """Name, quantity and size of every part stand on its card, drawn one after the other."""
    parts = book.boat.parts
    if parts is None:
        return
    sizes: dict[str, str] = {}
    for page in pages:
        texts = [word.text for word in page.words]
        for k in range(len(texts) - 2):
            if " × " in texts[k + 2] and page.words[k].bold:
                sizes.setdefault(texts[k], texts[k + 2])
    for part in parts.parts:
        name = f"{part.number}  {part.name}" if part.number else part.name
        found = sizes.get(name)
        if found is None and len(name) > 20:
            cut = [text for text in sizes if text.endswith("…") and name.startswith(text[:-1])]
            found = sizes[cut[0]] if cut else None
        if found is None:
            book.notes.append(f"the card of {part.name} is missing.")
            continue
        book.lengths(f"size of {part.name}", found.split(" × "), part.size())


def _joints(book: _Book) -> None:
    nest = book.boat.nest
    if nest is None:
        return
    rows = book.rows("Joints, x along the part")
    parts = {part.name: part for part in book.boat.laid_parts}
    for joint in nest.part_joints:
        name = whole_name(parts[joint.part], joint.copy)
        near = [row[1:3] for row in rows if row[0] == name and len(row) >= 3]
        true = (joint.start, joint.end)
        if not near:
            book.notes.append(f"the joint of {name} is missing.")
            continue

        off = [abs(read_length(cells[0], book.notation) - joint.start) for cells in near]
        book.lengths(f"joint of {name}", near[int(np.argmin(off))], true)


def _bevels(book: _Book) -> None:
    """Every bevel printed lies within what its edge has."""
    parts = book.boat.parts
    for part in () if parts is None else parts.parts:
        for run in part.bevels:
            low, high = (degrees(f(np.abs(run.angles))) for f in (np.min, np.max))
            for row in book.rows(f"{part.name}, {run.edge}"):
                for cell in row:
                    if cell.endswith("°"):
                        middle, half = 0.5 * (low + high), 0.5 * (high - low)
                        book.number(f"bevel of {part.name}", cell[:-1], middle, half + DEGREE)


def _timber(book: _Book) -> None:
    """Lengths of timber and what the boxes hold."""
    parts = book.boat.parts
    if parts is None:
        return
    said = {row[0]: row for row in book.rows("Timber along the lines")}
    for cut in parts.timbers:
        cells = said.get(cut.name, ())
        if len(cells) < 5:
            book.notes.append(f"the length of {cut.name} is missing.")
        elif [other.name for other in parts.timbers].count(cut.name) == 1:
            book.length(f"length of {cut.name}", cells[4], cut.length)
    held = {row[0]: row[-1] for row in book.rows("Spaces for buoyancy")}
    for space in parts.compartments:
        book.number(f"volume of {space.name}", held.get(space.name, ""), space.volume * 1e-6, 0.051)


def _weights(book: _Book) -> None:
    weights = book.boat.weights
    if weights is None:
        return
    said = {row[0]: row[1:] for row in book.rows("Line by line")}
    placed = book.boat.shape_planking is not None
    for line in weights.lines:
        cells = said.get(line.name, ())
        if len(cells) < (3 if placed else 1):
            book.notes.append(f"the weight of {line.name} is missing.")
            continue
        book.compared += 1
        alike = [other for other in weights.lines if other.name == line.name]
        if len(alike) == 1:
            book.number(f"weight of {line.name}", cells[0], line.mass, 0.0051)
            if placed:
                book.lengths(f"place of {line.name}", cells[1:3], (line.x, line.z))


def _stores(book: _Book) -> None:
    said = [(row[0], row[1]) for row in book.rows("Shopping list") if len(row) > 1]
    lines = () if book.boat.stores is None else book.boat.stores.lines
    for line in lines:
        found = [quantity for item, quantity in said if item == line.item]
        if not found:
            book.notes.append(f"{line.item} is not on the shopping list.")
        elif len(found) == 1:
            book.number(line.item, found[0], line.quantity, 0.0051)


def _seams(book: _Book) -> None:
    """Lengths of the edges that meet, and the gaps left when the boat is put together."""
    fit, planking = book.boat.together, book.boat.planking
    if fit is None or planking is None or not (fit.seams or fit.laps):
        return
    told = {(row[0], row[1], row[3]): row for row in book.rows("Edges that meet") if len(row) > 4}
    for seam in planking.seams:
        row = told.get((seam.line, seam.a, seam.b))
        what = f"edges at {seam.line}, {seam.a}"
        cells = () if row is None else (row[2], row[4])
        book.lengths(what, cells, (seam.length_a, seam.length_b))
    gaps = {row[:2]: row[2] for row in book.rows("Gaps") if len(row) > 2}
    for gap in fit.seams:
        found = gaps.get((gap.line, f"{gap.a} to {gap.b}"), "")
        book.number(f"gap at {gap.line}", found, gap.largest, 0.0051)
    laps = {row[0]: row[2:] for row in book.rows("Laps") if len(row) > 4}
    for lap in fit.laps:
        off, _, land = laps.get(lap.line, ("",) * 3)
        book.number(f"lap at {lap.line}", off, lap.largest, 0.0051)
        book.number(f"land at {lap.line}", land, lap.land, 0.051)


def _sprung(book: _Book) -> None:
    """Where frames stand in a boat sprung from flat panels, and what strains and stays open."""
    made = book.boat.panel_boat
    if made is None:
        return
    frames = {row[0]: row[1:] for row in book.rows("Frames stand at")}
    for piece in made.sprung.pieces:
        cells = frames.get(piece.name, ("",) * 4)
        book.lengths(f"place of {piece.name}", cells[:2], (piece.x, piece.z))
        book.number(f"lean of {piece.name}", cells[2].removesuffix("°"), degrees(piece.lean), 0.051)
        book.number(f"gap at {piece.name}", cells[3], piece.gap, 0.051)
    panels = {row[0]: row[1:] for row in book.rows("Panels")}
    for panel in made.sprung.panels:
        cells = panels.get(panel.name, ("",) * 4)
        book.number(f"stretch of {panel.name}", cells[0], 100.0 * panel.strain_rms, 0.00051)
        book.length(f"tightest bend of {panel.name}", cells[2], panel.tightest)
    seams = {row[0]: row[1:] for row in book.rows("Seams")}
    for seam in made.sprung.seams:
        cells = seams.get(seam.name, ("",) * 2)
        book.number(f"gap at {seam.name}", cells[0], seam.gap, 0.051)
    sticks = {row[0]: row[1:] for row in book.rows("Spreaders")}
    for stick in made.sprung.spreaders:
        cells = sticks.get(stick.name, ("",) * 3)
        book.lengths(f"spreader {stick.name}", cells[:2], (stick.length, stick.place[0]))
        book.number(f"push of {stick.name}", cells[2], stick.push, 0.51)
    widths = {row[0]: row[1:] for row in book.rows("Widths to hold")}
    for number, soft in enumerate(made.sprung.soft, 1):
        cells = widths.get(f"spreader {number}", ("",) * 3)
        book.length(f"half-breadth at spreader {number}", cells[1], soft.half_breadth)


def _cases(book: _Book) -> None:
    """How she floats: one table a load case, in their order."""
    afloat = book.boat.afloat
    tables = [table for table in book.tables if table.title == "How she floats"]
    cases = () if afloat is None or book.boat.shape_lines is None else afloat.cases
    if len(tables) != len(cases):
        book.notes.append(f"{len(tables)} load cases in place of {len(cases)}.")
        return
    for table, case in zip(tables, cases, strict=True):
        a, name = case.attitude, case.case.name
        if not a.floats:
            continue
        said = {row[0]: row[-1] for row in table.cells()}
        mass = said.get("displacement", "").removesuffix(" kg")
        book.number(f"{name}, displacement", mass, case.mass, MASS)
        book.length(f"{name}, draught", said.get("draught", ""), a.draught)
        book.length(f"{name}, least freeboard", said.get("least freeboard", ""), a.freeboard)
        gm = said.get("metacentric height", "")
        book.length(f"{name}, metacentric height", gm, a.gm_transverse)
        trim = said.get("trim", "").split("°")[0].replace("level", "0")
        book.number(f"{name}, trim", trim, abs(degrees(a.trim)), DEGREE)
