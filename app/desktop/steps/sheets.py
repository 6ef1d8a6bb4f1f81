"""Step 5, sheets: stock and prices, way of joining, the layout running in the background, and
parts moved, turned and pinned by hand."""

import re
from collections.abc import Mapping
from dataclasses import replace
from math import degrees, radians

from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, heading, words
from app.desktop.joints_desk import JointsDesk
from app.desktop.nest_canvas import NestCanvas
from app.desktop.records import Records, RecordsModel
from app.desktop.rules_desk import RulesDesk
from app.desktop.steps.base import Step, column, scrolled
from app.desktop.study import BoatStudy
from app.desktop.ways_desk import WaysDesk
from app.drawing.copies import whole_name
from app.pipeline import Boat, Stage, sheet_counts
from app.project import conversion
from app.project.editing import put
from app.project.laying import MeasuredBlank, PinnedPart, StockSheet
from lofting.lengths import print_length
from lofting.plywood import MATERIALS
from lofting.stores.takeoff import sheet_item
from nesting.plan import Nest, Placement
from nesting.relaxing import Relaxed
from nesting.verify import check_layout
from nesting.ways import WayRow

REASON = re.compile(r" (?=[\w-]+ [\d.]+ mm: )")
"""Between the reasons for one plywood and those for the next."""


class SheetsStep(Step):
    """Stock, joining and the layout."""

    title = "Sheets"
    needs = Stage.SHEETS
    nested = True

    def __init__(self, desk: Desk, study: BoatStudy) -> None:
        super().__init__(desk)
        self.study = study
        self.canvas = NestCanvas()
        self.canvas.lengths = lambda value: print_length(value, desk.notation, unit=False)
        self.canvas.describe = self._describe
        self.canvas.picked.connect(self._picked)
        self.canvas.moved.connect(self.move_part)
        self.canvas.pin_asked.connect(self.toggle_pin)
        self._trial: Nest | None = None
        study.better_nest.connect(self._better)
        study.state.connect(self._ended)
        study.closing.connect(self.canvas.end_work)
        self.place(column(*self._figures()), self._picture(), shares=(8, 11))
        self._buttons()

    def _figures(self) -> list[QWidget]:
        figures = (
            Figure("material", "Plywood", Kind.CHOICE, tuple(p.key for p in MATERIALS), width=85),
            Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
            Figure("length", "Long", Kind.NUMBER, unit="mm"),
            Figure("width", "Wide", Kind.NUMBER, unit="mm"),
            Figure("price", "Price", Kind.NUMBER, tip="A sheet; 0 when not known"),
            Figure(
                "at_hand",
                "At hand",
                Kind.WHOLE,
                may_be_blank=True,
                tip="How many there are; blank: buy as needed",
            ),
            Figure("grain_across", "Grain across", Kind.YES_NO),
            Figure(
                "not_for",
                "Not for",
                Kind.NAMES,
                tip="Names of parts that must not be cut from it, with commas between",
            ),
        )
        model = RecordsModel(self.desk, ("sheets", "stock"), figures, "kind of sheet")
        stock = Records(
            model,
            lambda rows: rows[-1].model_copy() if rows else StockSheet(thickness=6),
            title="Sheets that can be had",
        )
        joining = Form(
            self.desk,
            ("sheets",),
            (
                Figure(
                    "method",
                    "Long parts",
                    Kind.CHOICE,
                    ("blank first", "piece first", "butt strap"),
                    tip="Blank first: whole sheets are joined, then cut. Piece first: parts are "
                    "cut in pieces, then joined. Butt strap: no overlap, a strap behind.",
                ),
                Figure("slope", "Scarf slope, one in", Kind.NUMBER),
                Figure(
                    "clearance",
                    "Room between parts",
                    Kind.NUMBER,
                    unit="mm",
                    tip="At least the width of the cut",
                ),
                Figure("margin", "Room at sheet edges", Kind.NUMBER, unit="mm"),
                Figure("stagger", "Joints of neighbours apart by"),
                Figure("most_sheets", "Most sheets in one blank", Kind.WHOLE),
                Figure("strap_width", "Width of a butt strap"),
                Figure("may_flip", "Both faces are good: parts may lie face down", Kind.YES_NO),
                Figure("seconds", "Seconds to look for a layout", Kind.NUMBER),
                Figure("seed", "Start of the search", Kind.WHOLE),
            ),
            title="Joining and laying",
        )
        self.result = QLabel()
        self.result.setWordWrap(True)
        self.hand = QLabel()
        self.hand.setWordWrap(True)
        self.stop_button = QPushButton("Stop here")
        self.stop_button.setToolTip("The best layout so far is good enough")
        self.stop_button.clicked.connect(self.study.stop_here)
        self.again_button = QPushButton("Look again")
        self.again_button.setToolTip("Search anew from another start")
        self.again_button.clicked.connect(self._again)
        self.free_button = QPushButton("Let all pins go")
        self.free_button.clicked.connect(self._free)
        self.pin_button = QPushButton("Pin all as they lie")
        self.pin_button.clicked.connect(self._pin_all)
        buttons = QWidget()
        row = QHBoxLayout(buttons)
        row.setContentsMargins(0, 0, 0, 0)
        for button in (self.stop_button, self.again_button, self.pin_button, self.free_button):
            row.addWidget(button)
        row.addStretch(1)
        hint = words(
            "Drag a part to move it; with a part chosen, R turns it, M turns it over, Shift with "
            "arrows nudges it, P pins or frees it. A part moved by hand is pinned: the others are "
            "laid round it."
        )
        result = column(heading("The layout"), self.result, self.hand, buttons, hint)
        self.ways = WaysDesk(self.desk, self.study)
        self.ways.chosen.connect(self._other_chosen)
        self.rules = RulesDesk(self.desk, self.study)
        self.rules.chosen.connect(self._other_chosen)
        self.joints = JointsDesk(self.desk, self._names)
        self.joints.picked.connect(self._joint_picked)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(scrolled(stock, joining), "Stock and joining")
        self.taped = self._taped()
        self.tabs.addTab(scrolled(self.joints, self.taped), "Joints and parts")
        self.tabs.addTab(scrolled(self.ways, self.rules), "Ways and rules")
        return [result, self.tabs]

    def _taped(self) -> Records:
        """Blanks as the tape found them, once they are joined."""
        model = RecordsModel(
            self.desk,
            ("sheets", "measured"),
            (
                Figure(
                    "blank",
                    "Blank",
                    Kind.CHOICE,
                    self._blanks,
                    width=110,
                    tip="What lies on it stays where it is; its joints move",
                ),
                Figure("length", "Length", tip="As taped; 0: not taped"),
                Figure("width", "Width", tip="As taped; 0: not taped"),
            ),
            "blank as taped",
        )
        return Records(
            model,
            lambda rows: MeasuredBlank(blank=self._untaped({row.blank for row in rows})),
            title="Blanks as taped once joined",
        )

    def _untaped(self, taped: set[str]) -> str:
        """The first blank that has no line yet, else the first."""
        names = self._blanks() or ("blank-1",)
        return next((name for name in names if name not in taped), names[0])

    def _blanks(self) -> tuple[str, ...]:
        """Names of the layout's blanks."""
        nest = self.boat.nest if self.boat else None
        return () if nest is None else tuple(blank.name for blank in nest.blanks)

    def _names(self) -> tuple[str, ...]:
        """Names of the boat's parts."""
        parts = self.boat.parts if self.boat else None
        return () if parts is None else tuple(part.name for part in parts.parts)

    def _joint_picked(self, key: str) -> None:
        self._picked(key)
        self.canvas.bring_into_sight(key)

    def _picture(self) -> QWidget:
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        self.chosen = QLabel()
        row.addWidget(self.chosen, 1)
        self.back_button = QPushButton("Back to the layout")
        self.back_button.clicked.connect(self._back)
        self.back_button.hide()
        row.addWidget(self.back_button)
        self.show_clear = QCheckBox("Where no joint may fall")
        self.show_clear.setChecked(True)
        self.show_clear.toggled.connect(lambda _on: self._draw())
        row.addWidget(self.show_clear)
        layout.addLayout(row)
        layout.addWidget(self.canvas, 1)
        return inside

    # --- what comes in ---------------------------------------------------------------------------

    def show_boat(self, boat: Boat) -> None:
        """Show the layout."""
        super().show_boat(boat)
        if not self.study.sheets_busy:
            self._trial = None
        self._draw()
        self._buttons()

    def has_result(self, boat: Boat) -> bool:
        """There are blanks."""
        return boat.nest is not None and bool(boat.nest.blanks)

    def set_outdated(self, outdated: bool) -> None:
        """A layout found just now is not outdated."""
        super().set_outdated(outdated and self._trial is None)

    def _better(self, nest: Nest) -> None:
        self._trial = nest
        self._draw()

    def _shown(self) -> Nest | None:
        nest = self._trial or (self.boat.nest if self.boat else None)
        return _with_pins(nest, self.desk.project.sheets.pinned) if nest else None

    def _draw(self) -> None:
        other = self.ways.picked() or self.rules.picked()
        self.canvas.only_look = other is not None
        self.back_button.setVisible(other is not None)
        if other is not None:
            self._draw_other(other)
            return
        nest = self._shown()
        parts = self.study.nest_parts
        if self._trial is not None and self.boat is not None and self.boat.parts is not None:
            parts = self.boat.parts.parts
        extra = nest.extra_parts if nest else ()
        self.canvas.show_nest(
            nest,
            (*parts, *extra),
            keep_clear=self.show_clear.isChecked(),
            clearance=self.desk.project.sheets.clearance,
        )
        self.joints.show_joints(nest, tuple(parts))
        self._tell(nest)

    def _back(self) -> None:
        self.ways.let_go()
        self.rules.let_go()

    def _other_chosen(self, chosen: object) -> None:
        """One other layout is looked at, at most."""
        if isinstance(chosen, WayRow):
            self.rules.let_go()
        elif isinstance(chosen, Relaxed):
            self.ways.let_go()
        if chosen is None:
            self.chosen.clear()
        self._draw()

    def _draw_other(self, other: WayRow | Relaxed) -> None:
        """Another layout in place of the boat's; it is only looked at."""
        parts = self.boat.parts.parts if self.boat and self.boat.parts else ()
        if isinstance(other, Relaxed):
            parts = other.parts
            said = other.sentence
        else:
            slope = f", scarfs 1 in {other.slope:g}" if other.slope else ""
            size = f"{other.length:g} × {other.width:g}"
            said = f"To look at: {other.method.value}{slope} on {size}."
        self.canvas.show_nest(
            other.nest,
            (*parts, *other.nest.extra_parts),
            keep_clear=self.show_clear.isChecked(),
            clearance=self.desk.project.sheets.clearance,
        )
        self.chosen.setText(said)

    def _tell(self, nest: Nest | None) -> None:
        if nest is None:
            self.result.setText("Not laid out yet.")
            self.hand.clear()
            return
        typed = conversion.prices(self.desk.project)
        cost = sum(
            kind.count
            * typed.get(
                sheet_item(kind.material, kind.thickness, kind.length, kind.width), kind.price
            )
            for kind in sheet_counts(nest, self.desk.project)
        )
        joints = nest.joint_count
        glued = f"{nest.joint_metres:.1f} m of glue line"
        said = [
            f"<b>{_counted(nest.sheets, 'sheet')}</b>; the least that could do: "
            f"{nest.bound.sheets}. {nest.utilisation:.0%} of the plywood becomes boat; "
            + (f"{_counted(joints, 'joint')}, {glued}." if joints else "nothing to join.")
            + (f" Plywood costs {cost:.2f}." if cost else "")
        ]
        said += REASON.split(nest.reached)
        if nest.unplaced:
            left = ", ".join(dict.fromkeys(nest.unplaced))
            said.insert(0, f"<b>No place for {left}</b>: see the findings.")
        if self._trial is not None:
            said.insert(0, "<i>Best so far; still looking.</i>")
        self.result.setText("<br>".join(said))
        self._check(nest)

    def _check(self, nest: Nest) -> None:
        project, parts = self.desk.project, self.study.nest_parts
        if not project.sheets.pinned or not parts or self._trial is not None:
            self.hand.clear()
            return
        faults = check_layout(
            nest, parts, conversion.stock(project), conversion.joining_rules(project)
        )
        sentences = list(dict.fromkeys(f.message for f in faults))
        pinned = len(project.sheets.pinned)
        if sentences:
            more = f" and {len(sentences) - 3} more" if len(sentences) > 3 else ""
            self.hand.setText(f"<b>As placed by hand:</b> {'; '.join(sentences[:3])}{more}.")
        else:
            self.hand.setText(f"{pinned} pinned by hand; nothing overlaps, no rule is broken.")

    def _ended(self) -> None:
        if not self.study.sheets_busy and self._trial is not None:
            self._trial = None
            self._draw()
        self._buttons()

    def _buttons(self) -> None:
        busy = self.study.sheets_busy
        self.stop_button.setEnabled(busy)
        self.again_button.setEnabled(not busy)
        pins = bool(self.desk.project.sheets.pinned)
        self.free_button.setEnabled(pins)
        self.pin_button.setEnabled(self.boat is not None and self.boat.nest is not None)

    # --- by hand ---------------------------------------------------------------------------------

    def move_part(self, blank: str, placement: Placement) -> None:
        """A part was put somewhere by hand: it is pinned there."""
        pins = _without(self.desk.project.sheets.pinned, placement)
        pin = _pin(blank, placement)
        project = put(self.desk.project, ("sheets", "pinned"), (*pins, pin))
        self.desk.edit(project, f"move {placement.part} by hand")
        self._draw()

    def toggle_pin(self, placement: Placement) -> None:
        """Pin a part where it lies, or let it go."""
        now = self.desk.project.sheets.pinned
        pins = _without(now, placement)
        if len(pins) == len(now):
            found = self.canvas.placed(f"place/{placement.part}/{placement.copy}")
            if found is None:
                return
            pins = (*pins, _pin(found[0].name, placement))
        self.desk.edit(put(self.desk.project, ("sheets", "pinned"), pins), "pin or free a part")
        self._draw()

    def _pin_all(self) -> None:
        nest = self._shown()
        if nest is not None:
            pins = tuple(_pin(b.name, p) for b in nest.blanks for p in b.placements)
            self.desk.edit(put(self.desk.project, ("sheets", "pinned"), pins), "pin all parts")

    def _free(self) -> None:
        self.desk.edit(put(self.desk.project, ("sheets", "pinned"), ()), "let all pins go")

    def _again(self) -> None:
        seed = self.desk.project.sheets.seed + 1
        self.desk.edit(put(self.desk.project, ("sheets", "seed"), seed), "look again")

    def _picked(self, key: str) -> None:
        self.canvas.light({key} if key else ())
        self.chosen.setText(self._describe(key))

    def _describe(self, key: str) -> str:
        found = self.canvas.placed(key)
        if found is None:
            return key.replace("/", " ") if key else ""
        blank, p = found
        pinned = ", pinned" if p.pinned else ""
        over = ", face down" if p.mirrored else ""
        part = self.canvas.parts.get(p.part)
        name = whole_name(part, p.copy) if part is not None else p.part
        x, y = (print_length(v, self.desk.notation, unit=False) for v in (p.x, p.y))
        turned = f", turned {degrees(p.rotation):.0f}°" if abs(p.rotation) > 1e-6 else ""
        return f"{name} on {blank.name}: x {x}, y {y}{turned}{over}{pinned}"

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The part or the blank."""
        name = str(where.get("part", ""))
        nest = self._shown()
        for blank in nest.blanks if nest else ():
            for placement in blank.placements:
                if placement.part == name or blank.name == str(where.get("blank", "")):
                    key = f"place/{placement.part}/{placement.copy}"
                    self.canvas.light({key})
                    self.canvas.bring_into_sight(key)
                    return


def _counted(number: int, what: str) -> str:
    """A number of things in words."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _pin(blank: str, placement: Placement) -> PinnedPart:
    return PinnedPart(
        blank=blank,
        part=placement.part,
        copy_number=placement.copy,
        x=round(placement.x, 2),
        y=round(placement.y, 2),
        rotation_deg=round(degrees(placement.rotation), 4),
        mirrored=placement.mirrored,
    )


def _without(pins: tuple[PinnedPart, ...], placement: Placement) -> tuple[PinnedPart, ...]:
    return tuple(p for p in pins if (p.part, p.copy_number) != (placement.part, placement.copy))


def _with_pins(nest: Nest, pins: tuple[PinnedPart, ...]) -> Nest:
    """The layout with pinned parts where the builder put them just now."""
    wanted = {(p.part, p.copy_number): p for p in pins}
    blanks = []
    for blank in nest.blanks:
        kept = [
            replace(p, pinned=False) for p in blank.placements if (p.part, p.copy) not in wanted
        ]
        there = [
            Placement(p.part, p.copy_number, p.x, p.y, radians(p.rotation_deg), p.mirrored, True)
            for p in pins
            if p.blank == blank.name
        ]
        blanks.append(replace(blank, placements=(*kept, *there)))
    return replace(nest, blanks=tuple(blanks))
