"""Step 4, parts: every flat piece in true shape, what is marked on it, edges that meet compared,
and forms for frames, transoms and own parts."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.desktop.canvas import Canvas
from app.desktop.desk import Desk
from app.desktop.edge_tables import BevelsTable, SeamsTable, TimberTable
from app.desktop.figures import Figure, Kind
from app.desktop.fittings_tab import FittingsTab
from app.desktop.forms import Form, heading, words
from app.desktop.own_outlines import OwnOutlines
from app.desktop.painting import picture
from app.desktop.palette import Look
from app.desktop.plots import Plot
from app.desktop.records import Records, RecordsModel, own_name
from app.desktop.steps.base import Step, column, scrolled, stacked
from app.desktop.together_tab import TogetherTab
from app.drawing.part import part_drawing
from app.drawing.value import Drawing, Pen
from app.pipeline import Boat, Stage
from app.project.document import (
    FrameChoice,
    NotchChoice,
    OpeningChoice,
    RectanglePart,
    TransomChoice,
)
from app.project.editing import part_names
from lofting.lengths import print_length
from lofting.panelsheets.seams import EdgeSeam
from lofting.parts import FlatPart, MarkKind
from lofting.planking import Seam
from lofting.plywood import MATERIALS, PLYWOODS

PLIES = tuple(p.key for p in PLYWOODS)
STOCKS = tuple(p.key for p in MATERIALS)
THUMB = QSize(132, 62)
HINT = "Every flat piece of the boat is shown here in true shape once the hull is planked."
SEAM_LOOK_FOR = (
    "The two edges of a seam must be as long as each other; the curve shows how far one runs ahead "
    "of the other on the way aft. Up to a millimetre is lost in the glue, more is a figure to find."
)


class PartsStep(Step):
    """The parts and the forms they come from."""

    title = "Parts"
    needs = Stage.PARTS

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.canvas = Canvas(hint=HINT)
        self.canvas.describe = lambda key: key.replace("/", " ")
        self.list = QListWidget()
        self.list.setIconSize(THUMB)
        self.list.setAccessibleName("Parts in order of assembly")
        self.list.setAlternatingRowColors(True)
        self.list.currentRowChanged.connect(lambda _n: self._draw())
        self._thumbs: dict[int, tuple[FlatPart, bool, QIcon]] = {}
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(self.list, "All parts")
        self.tabs.addTab(self._frames_tab(), "Frames")
        self.tabs.addTab(self._transoms_tab(), "Transom")
        self.tabs.addTab(FittingsTab(desk), "Fittings")
        self.tabs.addTab(self._own_tab(), "Own parts")
        self.tabs.addTab(self._marks_tab(), "Marks")
        self.place(
            self.tabs, stacked(self._picture(), self._seams(), shares=(3, 2)), shares=(8, 11)
        )

    # --- forms -----------------------------------------------------------------------------------

    def _frames_tab(self) -> QWidget:
        figures = (
            Figure("name", "Name", Kind.TEXT, width=110),
            Figure("kind", "It is a", Kind.CHOICE, ("bulkhead", "frame"), width=90),
            Figure("x", "At x", tip="From the bow datum, at the baseline"),
            Figure("face", "stands its", Kind.CHOICE, ("forward face", "after face"), width=105),
            Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
            Figure("material", "Made of", Kind.CHOICE, STOCKS, width=85),
            Figure(
                "top", "Top at", may_be_blank=True, tip="Height above base; blank: to the sheer"
            ),
            Figure("crown", "Crown"),
            Figure("moulded", "Moulded", tip="Width of a frame's ring inside the skin"),
            Figure("limber", "Limber", tip="Radius of the limber holes, 0 for none"),
            Figure("rake_deg", "Rake", Kind.NUMBER, unit="degrees", tip="Top aft is positive"),
            Figure(
                "open_top", "Open top", Kind.YES_NO, tip="A frame without a beam across its top"
            ),
            Figure(
                "clearance", "Notches\nclear by", tip="Room round a log in its notch, each side"
            ),
            Figure(
                "gusset",
                "Gussets\nthick",
                tip="A frame of sawn timber pieces, one for each plank, with plywood gussets at "
                "the corners; 0: cut in one",
            ),
            Figure("gusset_material", "Gussets of", Kind.CHOICE, PLIES, width=85),
        )
        model = RecordsModel(self.desk, ("parts", "frames"), figures, "frame")
        self.frames = Records(model, self._fresh_frame, title="Frames and bulkheads")

        def inside(name: str) -> tuple[str | int, ...] | None:
            row = self.frames.current()
            return ("parts", "frames", row, name) if row >= 0 else None

        notches = RecordsModel(
            self.desk,
            lambda: inside("notches"),
            (
                Figure("line", "Along line", Kind.CHOICE, self._lines, width=110),
                Figure("width", "Wide"),
                Figure("depth", "Deep"),
            ),
            "notch",
        )
        openings = RecordsModel(
            self.desk,
            lambda: inside("openings"),
            (
                Figure("height_of_centre", "Centre at height"),
                Figure("width", "Wide"),
                Figure("height", "High"),
                Figure("corner_radius", "Corner radius"),
            ),
            "opening",
        )
        self.notches = Records(
            notches,
            lambda rows: NotchChoice(line=next(iter(self._lines()), "sheer"), width=25, depth=45),
            title="Notches in this frame",
        )
        self.openings = Records(
            openings,
            lambda rows: OpeningChoice(height_of_centre=250, width=240, height=120),
            title="Openings in this frame",
        )

        def moved(*_: Any) -> None:
            notches.refresh()
            openings.refresh()

        self.frames.grid.selectionModel().currentRowChanged.connect(moved)
        model.modelReset.connect(moved)
        return scrolled(self.frames, self.notches, self.openings)

    def _fresh_frame(self, rows: tuple[FrameChoice, ...]) -> FrameChoice:
        name = own_name("bulkhead", part_names(self.desk.project))
        x = rows[-1].x + 500.0 if rows else 1000.0
        return FrameChoice(name=name, x=x)

    def _transoms_tab(self) -> QWidget:
        figures = (
            Figure("at", "At the", Kind.CHOICE, ("stern", "bow"), width=80),
            Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
            Figure("material", "Plywood", Kind.CHOICE, PLIES, width=85),
            Figure("layers", "Layers", Kind.WHOLE),
            Figure("crown", "Crown"),
            Figure("motor_width", "Motor\ncut-out wide", tip="0: no cut-out"),
            Figure("motor_height", "down to\nheight"),
            Figure("doubler_width", "Doubler\nwide", tip="0: no doubler"),
            Figure("doubler_height", "high"),
            Figure("doubler_thickness", "thick"),
            Figure(
                "clearance", "Notches\nclear by", tip="Room round a log in its notch, each side"
            ),
        )
        model = RecordsModel(self.desk, ("parts", "transoms"), figures, "transom")
        records = Records(
            model,
            lambda rows: TransomChoice(at="bow" if any(r.at == "stern" for r in rows) else "stern"),
            title="Transoms",
        )

        def inside() -> tuple[str | int, ...] | None:
            row = records.current()
            return ("parts", "transoms", row, "notches") if row >= 0 else None

        notches = RecordsModel(
            self.desk,
            inside,
            (
                Figure("line", "Along line", Kind.CHOICE, self._lines, width=110),
                Figure("width", "Wide"),
                Figure("depth", "Deep"),
            ),
            "notch",
        )
        let_in = Records(
            notches,
            lambda rows: NotchChoice(line=next(iter(self._lines()), "chine"), width=25, depth=25),
            title="Notches in this transom",
        )
        records.grid.selectionModel().currentRowChanged.connect(lambda *_: notches.refresh())
        model.modelReset.connect(notches.refresh)
        caution = words(
            "Measure the motor's own shaft and bracket before cutting, and keep to the power that "
            "the boat's capacity and your local rules allow."
        )
        return scrolled(records, let_in, caution)

    def _lines(self) -> tuple[str, ...]:
        """Names of the plan's lines now."""
        return tuple(line.name for line in self.desk.project.plan.lines)

    def _own_tab(self) -> QWidget:
        figures = (
            Figure("name", "Name", Kind.TEXT, width=120),
            Figure("length", "Long"),
            Figure("width", "Wide"),
            Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
            Figure("material", "Plywood", Kind.CHOICE, PLIES, width=85),
            Figure("quantity", "How many", Kind.WHOLE),
            Figure("grain_free", "Grain any way", Kind.YES_NO),
        )
        model = RecordsModel(self.desk, ("parts", "rectangles"), figures, "rectangle")
        rectangles = Records(
            model,
            lambda _rows: RectanglePart(
                name=own_name("thwart", part_names(self.desk.project)),
                length=900,
                width=250,
                thickness=12,
            ),
            title="Rectangles: thwarts, knees' blanks, pads",
        )
        self.outlines = OwnOutlines(self.desk)
        return scrolled(rectangles, self.outlines)

    def _marks_tab(self) -> QWidget:
        form = Form(
            self.desk,
            ("parts", "marks"),
            (
                Figure("stitch_spacing", "Stitch holes every", tip="0: none"),
                Figure("stitch_edge", "from the edge"),
                Figure(
                    "waterlines", "Waterlines marked at heights", Kind.LENGTHS, tip="200; 300; ..."
                ),
                Figure("rulings", "Mark the rulings, for bending by eye", Kind.YES_NO),
                Figure("keep_from_landing", "Joints keep clear of landing lines by"),
                Figure("keep_from_end", "Joints keep clear of ends by"),
            ),
            title="What is marked on the panels",
        )
        return scrolled(form)

    # --- right side ------------------------------------------------------------------------------

    def _picture(self) -> QWidget:
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        self.about = QLabel()
        self.about.setWordWrap(True)
        row.addWidget(self.about, 1)
        self.show_clear = QCheckBox("Where no joint may fall")
        self.show_rulings = QCheckBox("Rulings")
        self.show_bevels = QCheckBox("Bevels")
        self.show_bevels.setChecked(True)
        for tick in (self.show_clear, self.show_rulings, self.show_bevels):
            tick.toggled.connect(lambda _on: self._draw())
            row.addWidget(tick)
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(row)
        layout.addWidget(self.canvas, 1)
        return inside

    def _seams(self) -> QWidget:
        self.seam = QComboBox()
        self.seam.setAccessibleName("The seam compared")
        self.seam.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.seam.currentIndexChanged.connect(lambda _n: self._draw_seam())
        self.seam_words = QLabel()
        self.seam_words.setWordWrap(True)
        self.seam_plot = Plot("along the seam from the bow, m", "ahead by, mm", SEAM_LOOK_FOR)
        row = QHBoxLayout()
        row.setContentsMargins(0, 4, 0, 0)
        row.addWidget(heading("Edges that meet"))
        row.addWidget(self.seam)
        row.addStretch(1)
        top = QWidget()
        top.setLayout(row)
        self.all_seams = SeamsTable()
        self.all_seams.currentItemChanged.connect(
            lambda now, _b: (
                self.seam.setCurrentIndex(self.all_seams.indexOfTopLevelItem(now)) if now else None
            )
        )
        self.bevels = BevelsTable()
        below = QTabWidget()
        below.setDocumentMode(True)
        below.addTab(column(top, self.seam_words, self.seam_plot, spacing=3), "One seam")
        below.addTab(self.all_seams, "All edges compared")
        below.addTab(self.bevels, "Bevels of this part")
        self.timber = TimberTable()
        below.addTab(self.timber, "Timber and buoyancy")
        self.together = TogetherTab()
        below.addTab(self.together, "Does it go together?")
        self.edges = below
        return below

    def show_boat(self, boat: Boat) -> None:
        """List, draw and compare anew."""
        super().show_boat(boat)
        parts = boat.parts.parts if boat.parts else ()
        self._list(parts)
        self._list_seams(boat)
        self.together.show_boat(boat, self._length)
        self._draw()

    def has_result(self, boat: Boat) -> bool:
        """There are parts."""
        return boat.parts is not None and bool(boat.parts.parts)

    def _list(self, parts: tuple[FlatPart, ...]) -> None:
        kept = self._name()
        self.list.blockSignals(True)
        self.list.clear()
        for number, part in enumerate(parts):
            length, width = part.size()
            text = (
                f"{part.name}   × {part.quantity}\n{part.thickness:g} mm {part.material}\n"
                f"{self._length(length)} × {self._length(width)}"
            )
            item = QListWidgetItem(self._thumb(number, part), text)
            item.setData(Qt.ItemDataRole.UserRole, part.name)
            self.list.addItem(item)
            if part.name == kept:
                self.list.setCurrentItem(item)
        if self.list.currentRow() < 0 and parts:
            self.list.setCurrentRow(0)
        self.list.blockSignals(False)

    def _thumb(self, number: int, part: FlatPart) -> QIcon:
        dark = self.palette().base().color().lightness() < 128
        kept = self._thumbs.get(number)
        if kept is not None and kept[0] is part and kept[1] == dark:
            return kept[2]
        drawing = part_drawing(part, marks=False, name=False, grain=False, filled=True)
        image = picture(drawing, Look(dark), THUMB.width() * 2, THUMB.height() * 2, texts=False)
        image.setDevicePixelRatio(2.0)
        icon = QIcon(QPixmap.fromImage(image))
        icon.addPixmap(QPixmap.fromImage(image), QIcon.Mode.Selected)  # not tinted when chosen
        self._thumbs[number] = (part, dark, icon)
        return icon

    def _length(self, value: float) -> str:
        return print_length(value, self.desk.notation)

    def _name(self) -> str:
        item = self.list.currentItem()
        return str(item.data(Qt.ItemDataRole.UserRole)) if item else ""

    def _part(self) -> FlatPart | None:
        parts = self.boat.parts.parts if self.boat and self.boat.parts else ()
        return next((p for p in parts if p.name == self._name()), None)

    def _draw(self) -> None:
        part = self._part()
        if part is None:
            self.canvas.show_drawing(Drawing())
            self.about.setText("")
            self.bevels.show_part(None, self._length)
            return
        kinds = None if not self.show_rulings.isChecked() else tuple(MarkKind)
        drawing = part_drawing(
            part,
            kinds=kinds,
            mark_labels=True,
            keep_clear=self.show_clear.isChecked(),
            filled=True,
            lengths=self._length,
            bevels=self.show_bevels.isChecked(),
        )
        self.bevels.show_part(part, self._length)
        fit = self.canvas.drawing.title != part.name
        self.canvas.show_drawing(Drawing(drawing.items, part.name), fit=fit)
        handed = "one to each hand" if part.handed else ""
        note = part.note or _bevel_words(part)
        said = [f"<b>{part.name}</b>", f"{part.quantity} off", handed, note]
        self.about.setText(", ".join(word for word in said if word))

    def _list_seams(self, boat: Boat) -> None:
        names = [name for name, _ in _seams_of(boat)]
        if names != [self.seam.itemText(n) for n in range(self.seam.count())]:
            self.seam.blockSignals(True)
            self.seam.clear()
            self.seam.addItems(names)
            self.seam.blockSignals(False)
        made = boat.parts
        self.timber.show_all(
            made.timbers if made else (), made.compartments if made else (), self._length
        )
        self.all_seams.show_seams([seam for _, seam in _seams_of(boat)], self._length)
        self._draw_seam()

    def _draw_seam(self) -> None:
        self.seam_plot.clear()
        seams = _seams_of(self.boat) if self.boat else []
        number = self.seam.currentIndex()
        if not 0 <= number < len(seams):
            self.seam_words.setText("No two panels meet yet.")
            return
        seam = seams[number][1]
        thickness = ""
        if isinstance(seam, Seam):
            thickness = f"thickness makes {seam.by_thickness:+.1f} mm of it;   "
        # The list above names the edges.
        self.seam_words.setText(
            f"Lengths {self._length(seam.length_a)} and {self._length(seam.length_b)};   "
            f"{thickness}left over {seam.difference:+.2f} mm"
        )
        self.seam_plot.zero()
        run = np.asarray(seam.gap_run, dtype=float)
        self.seam_plot.curve(np.asarray(seam.along) / 1000.0, run, Pen.CHINE)
        self.seam_plot.fit()
        if len(run) and float(np.abs(run).max()) < 0.5:
            self.seam_plot.item.setYRange(-1.0, 1.0)

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The part, drawn."""
        name = str(where.get("part", where.get("frame", "")))
        self.tabs.setCurrentIndex(0)
        for number in range(self.list.count()):
            item = self.list.item(number)
            if item.data(Qt.ItemDataRole.UserRole) == name:
                self.list.setCurrentRow(number)
        line = str(where.get("seam", where.get("line", "")))
        for number in range(self.seam.count()):
            if line and line in self.seam.itemText(number):
                self.seam.setCurrentIndex(number)
        self.together.pick(line)


def _seams_of(boat: Boat) -> list[tuple[str, Seam | EdgeSeam]]:
    """Every pair of edges compared, with its name; from planks or from a plan's own panels."""
    if boat.planking is not None:
        ends = boat.parts.end_seams if boat.parts is not None else ()
        return [(f"{s.line}: {s.a} and {s.b}", s) for s in (*boat.planking.seams, *ends)]
    if boat.panel_plan is not None:
        return [(f"{s.name}: {s.a} and {s.b}", s) for s in boat.panel_plan.seams]
    return []


def _bevel_words(part: FlatPart) -> str:
    if not part.bevels:
        return ""
    angles = np.degrees(np.concatenate([b.angles for b in part.bevels]))
    said = [
        f"{size:.0f}° {word}"
        for size, word in ((float(angles.max()), "standing"), (-float(angles.min()), "under"))
        if size > 0.5
    ]
    return "bevels up to " + " and ".join(said) if said else "edges square"
