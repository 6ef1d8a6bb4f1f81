"""Full-size templates: key pages, the printer's test page, and every part over its tiles."""

from collections.abc import Sequence

import numpy as np

from app.drawing.part import part_drawing
from app.drawing.value import Drawing, Pen, Stroke
from app.papers.canvas import BOLD, PLAIN, PaperCanvas, Target, text_width
from app.papers.frame import Heading, Room, framed_page
from app.papers.paper import Paper
from app.papers.tile_page import BAR, PartLines, cut_text, draw_bar, draw_tile
from app.papers.tiling import TiledPart, TileRules, check_rules, row_letter, tile_part
from lofting.parts import FlatPart, MarkKind


def full_size_tiles(
    target: Target, heading: Heading, parts: Sequence[FlatPart], rules: TileRules
) -> int:
    """Write full-size tiles of the parts given (one copy of each) as one PDF; returns the pages.

    First the key pages with a map of every part's tiles, then the test page, then the tiles, part
    by part and row by row. Lengths on the wood are true when the printer prints the bars of the
    test page as long as rules.measured_x and measured_y say.

    Raises:
        Refused: paper smaller than margins and overlap, a senseless correction or spacing.
    """
    check_rules(rules)
    tiled = [tile_part(part, rules) for part in parts]
    canvas = PaperCanvas(target, title=f"{heading.project}: full-size tiles", subject="templates")
    small = _upright(rules.paper)
    _key_pages(canvas, heading, tiled, small)
    _test_page(canvas, heading, rules, small)
    for one in tiled:
        lines = PartLines.of(one.part)
        page = small.turned() if one.lying else small
        for number, tile in enumerate(one.tiles):
            canvas.begin(page, outline="" if number else one.part.name)
            with canvas.named("Tile", Part=one.part.name, Name=tile.name):
                draw_tile(canvas, one, tile, lines, rules, heading)
    canvas.save()
    return canvas.pages


def _upright(paper: Paper) -> Paper:
    return paper if paper.height >= paper.width else paper.turned()


# --- key pages -----------------------------------------------------------------------------


def _key_pages(
    canvas: PaperCanvas, heading: Heading, tiled: Sequence[TiledPart], paper: Paper
) -> None:
    page = paper.landscape()
    room: Room | None = None
    x = y = deepest = 0.0
    for one in tiled:
        scale = _map_scale(one, page.width - 42.0, page.height - 90.0)
        wide, high = _map_size(one, scale)
        if room is not None and x > room.left and x + wide > room.right:
            x, y, deepest = room.left, y - deepest, 0.0
        if room is None or y - high < room.foot:
            first = room is None
            room = framed_page(
                canvas,
                page,
                heading,
                title="Full-size tiles, key",
                outline="key" if first else "",
            )
            x, y, deepest = room.left, room.top, 0.0
            if first:
                y = _how_to_join(canvas, room, y)
        _map(canvas, one, x, y, scale)
        x += wide
        deepest = max(deepest, high)


def _how_to_join(canvas: PaperCanvas, room: Room, top: float) -> float:
    canvas.text(room.left, top - 4.6, "Which tile goes where", size=13.0, font=BOLD)
    lines = (
        "Print at 100 %, never fitted to the page; measure the bars of the test page first.",
        "Rows are lettered from the foot, columns numbered from the left; where the map shows no",
        "tile, nothing is printed. A mark names the tile that lies on it: ring on ring, filled",
        "quarter on filled quarter. Check with the tape: ordinate lines carry their x on the part.",
    )
    y = top - 11.0
    for line in lines:
        canvas.text(room.left, y, line)
        y -= 4.8
    return y - 2.0


def _extent(one: TiledPart) -> tuple[float, float, float, float]:
    """The printed tiles' outer rectangle in part axes."""
    windows = np.array([tile.window for tile in one.tiles])
    low, high = windows[:, :2].min(axis=0), windows[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _map_scale(one: TiledPart, width: float, height: float) -> float:
    """Paper mm per mm of the map: as large as there is room, never over 1 : 14."""
    x0, y0, x1, y1 = _extent(one)
    return min(width / (x1 - x0), height / (y1 - y0), 1.0 / 14.0)


def _map_size(one: TiledPart, scale: float) -> tuple[float, float]:
    """Width and height of a map with its title and letters, mm."""
    x0, y0, x1, y1 = _extent(one)
    title = max(text_width(line, 9.5, BOLD) for line in _map_title(one))
    return max((x1 - x0) * scale + 10.0, title) + 8.0, (y1 - y0) * scale + 27.0


def _map_title(one: TiledPart) -> tuple[str, str]:
    part = one.part
    many = "1 tile" if len(one.tiles) == 1 else f"{len(one.tiles)} tiles"
    return f"{part.name}: {many}", f"{part.thickness:g} mm {part.material}, {cut_text(part)}"


def _map(canvas: PaperCanvas, one: TiledPart, left: float, top: float, scale: float) -> None:
    """A part with its tiles: row letters at the left, column numbers above."""
    x0, _y0, _x1, y1 = _extent(one)
    part = one.part
    for k, line in enumerate(_map_title(one)):
        canvas.text(left, top - 4.6 - 4.6 * k, line, size=9.5, font=PLAIN if k else BOLD)
    at = (left + 8.0 - x0 * scale, top - 19.0 - y1 * scale)
    strokes = []
    for tile in one.tiles:
        a, b, c, d = tile.window
        strokes.append(
            Stroke(np.array([[a, b], [c, b], [c, d], [a, d]]), Pen.ORDINATE, closed=True)
        )
    kinds = (MarkKind.LANDING, MarkKind.CENTRE)
    shape = part_drawing(part, kinds=kinds, name=False, grain=False)
    canvas.drawing(Drawing(tuple(strokes) + shape.items), scale, at)
    columns = {tile.column: tile.window for tile in one.tiles}
    rows = {tile.row: tile.window for tile in one.tiles}
    for column, (a, _b, c, _d) in sorted(columns.items()):
        middle = 0.5 * (a + c) * scale + at[0]
        canvas.text(middle, y1 * scale + at[1] + 1.4, str(column), anchor=("centre", "base"))
    for row, (_a, b, _c, d) in sorted(rows.items()):
        middle = 0.5 * (b + d) * scale + at[1]
        canvas.text(left + 6.0, middle, row_letter(row), anchor=("right", "middle"))


# --- test page -----------------------------------------------------------------------------


def _test_page(canvas: PaperCanvas, heading: Heading, rules: TileRules, paper: Paper) -> None:
    """Bars at the size the program means, for the builder to measure; never corrected."""
    canvas.begin(paper, outline="test page")
    margin = max(rules.margin, 12.0)
    x, y = margin, paper.height - margin
    canvas.text(x, y - 6.0, "Test page", size=16.0, font=BOLD)
    lines = (
        "Print this page at 100 % on the printer and paper that will",
        "print the tiles. Measure both bars with a steel rule, to a",
        "quarter of a millimetre, and type what they measure in the",
        "marking step: the tiles are then corrected to suit.",
    )
    top = y - 15.0
    for line in lines:
        canvas.text(x, top, line)
        top -= 5.0
    if rules.measured_x != 100.0 or rules.measured_y != 100.0:
        told = f"Set now: x {rules.measured_x:g} mm, y {rules.measured_y:g} mm."
        canvas.text(x, top, told, font=BOLD)
        top -= 5.0
    top -= 6.0
    length = (
        BAR if paper.width - 2 * margin > BAR + 24.0 and top - margin > BAR + 30.0 else 0.5 * BAR
    )
    left = margin + 14.0
    foot = top - length - 4.0
    draw_bar(canvas, ((left, foot), (left + length, foot)), axis="x", length=length, tag="TestBar")
    draw_bar(canvas, ((left, foot), (left, foot + length)), axis="y", length=length, tag="TestBar")
    canvas.pen(0.25)
    canvas.line(left, foot + length, left + length, foot + length)
    canvas.line(left + length, foot, left + length, foot + length)
    label = f"{length:g} mm"
    canvas.text(left + 0.5 * length, foot - 5.6, f"x: {label}", anchor=("centre", "base"))
    canvas.text(
        left - 4.0, foot + 0.5 * length, f"y: {label}", angle=0.5 * np.pi, anchor=("centre", "base")
    )
    words = "measured: x ............ mm    y ............ mm"
    canvas.text(x, foot - 16.0, words, size=11.0)
    foot_note = f"{heading.project}, {heading.date}, {heading.revision}"
    canvas.text(x, margin, foot_note)
    if heading.warning and text_width(heading.warning, 9.0, BOLD) < paper.width - 2 * margin:
        canvas.text(x, margin + 6.0, heading.warning, font=BOLD)
