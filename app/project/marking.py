"""How parts are marked by hand, printed full size and cut by machine, as the builder chose it."""

from typing import Literal

from app.project.models import Model, NotNegative, Positive


class Marking(Model):
    """Lengths in mm.

    Attributes:
        spacing, rounding, tolerance: of ordinates, marks and the batten. paper: of full-size
            pages; shop_paper: of marking sheets and the book.
        margin, overlap: of full-size pages. measured_x, measured_y: what the 100 mm bars of the
            test page measured. tile_parts: names of the parts wanted full size, all when empty.
        loose_sheets: sheets are marked before they are joined, so each figure along is given
            from its own sheet's end too. part_sheets: a sheet for each part, to scale, from its
            own base line.
        tool_diameter: of the cutter, 0: unknown. hole_diameter: of stitch holes.
        file_units, file_curves, file_form, sheet_turned_over: of cutting files.
        roll_width: of the plotter's roll, 0: none.
        bed_length: of the cutting machine, 0: takes any length; bed_joint: how parts longer than
            it are joined from pieces.
    """

    spacing: float = 200.0
    rounding: Positive = 0.5
    tolerance: Positive = 0.5
    paper: str = "A4"
    shop_paper: Literal["A4", "A3", "Letter", "Legal", "Tabloid"] = "A4"
    margin: NotNegative = 10.0
    overlap: NotNegative = 10.0
    measured_x: Positive = 100.0
    measured_y: Positive = 100.0
    tile_parts: tuple[str, ...] = ()
    loose_sheets: bool = False
    part_sheets: bool = False
    tool_diameter: NotNegative = 0.0
    hole_diameter: Positive = 2.0
    file_units: Literal["mm", "in"] = "mm"
    file_curves: Literal["arcs", "points"] = "arcs"
    file_form: Literal["2000", "R12"] = "2000"
    sheet_turned_over: bool = False
    roll_width: NotNegative = 0.0
    bed_length: NotNegative = 0.0
    bed_joint: Literal["scarf", "tongues"] = "scarf"
