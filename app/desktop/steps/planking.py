"""Step 3, planking: which lines each plank lies between, whether flat plywood can make it, and
where it is hard."""

from collections.abc import Callable, Mapping
from math import degrees

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desktop.desk import Desk
from app.desktop.develop_panel import DevelopPanel
from app.desktop.figures import Figure, Kind
from app.desktop.forms import Form, heading, words
from app.desktop.hollow_note import hollow_note, tell_hollows
from app.desktop.plots import Plot
from app.desktop.records import Records, RecordsModel, own_name
from app.desktop.shaded_canvas import HINT, START, Legend, ShadedCanvas
from app.desktop.steps.base import Step, column, scrolled, stacked
from app.desktop.usual_boat import UsualBoat
from app.drawing.shaded import Eye
from app.drawing.value import Array, Pen
from app.pipeline import Boat, Stage
from app.project import conversion
from app.project.document import CornerChoice, PlankChoice, SplitChoice
from lofting.bending import thickest_along
from lofting.lengths import Notation, print_length
from lofting.offsets import Role, from_keel_up
from lofting.planking import Corner, Plank, Planking, SeamRun, SplitJoint
from lofting.planking.hull import IN_PLANE_SHARE
from lofting.plywood import PLYWOODS, plywood, radius_source

LIGHT, TWIST, BEND, STRAIN = "light", "twist", "bend against least radius", "surface strain"
STRETCH = "strain in the sheet's plane"
LOOK_FOR = {
    LIGHT: "Turn the hull and let the light run along the planks: a hard edge of light inside a "
    "plank shows a hard bend. Click a plank to see its figures along its length.",
    TWIST: "Twist is how far the surface turns along one ruling; flat plywood has none. A few "
    "degrees at the ends can be pulled in, more in the middle of a plank will fight the clamps.",
    BEND: "The bar shows how near the bend comes to the least radius published for this plywood: "
    "1 is at it. Above 1 wet it, use two thin layers, or ease the line there.",
    STRAIN: "Surface strain is half the thickness over the radius of bend. Compare with the strain "
    "at which this plywood breaks, the dashed level.",
}
NAMES = {
    TWIST: "Twist along a ruling",
    BEND: "Least radius over radius of bend",
    STRAIN: "Strain at the surface",
    STRETCH: "Strain in the sheet's own plane",
}
COLUMN_TIPS = (
    "",
    "How far the surface turns along one ruling, at most",
    "The tightest radius that the plank is bent to",
    "The tightest radius as times the least one published for this plywood: above 1 is good",
    "How hard the bend is for this plywood, dry",
    "The thickest stock sheet that takes the bend dry",
    "Area of one plank",
    "What is left in the sheet's own plane once a twisted plank is laid flat",
)
FLAT_PANELS = (
    "This plan gives its panels flat: they are ready as they are. The hull is shown here once they "
    "have been sprung together on their seams; where that does not work, a finding says why."
)
MOST_OF_LIMIT = 4.0
"""The colours end at so many times the value that matters."""
SHARE = "Share of the plank's breadth from its lower edge; 0 0 0 splits a whole bottom in halves"
LOOK_FOR[STRETCH] = (
    "A plank that twists over the limit is laid flat with the least strain; what is left must be "
    "pulled in by clamps and stitches in the sheet's own plane. Planks that unroll have none."
)
VIEWS = {
    "from the bow": START,
    "from the quarter": Eye(azimuth=0.7, elevation=0.42, light_azimuth=0.0),
    "from the side": Eye(azimuth=np.pi / 2, elevation=0.0, light_azimuth=1.0),
    "from below": Eye(azimuth=2.4, elevation=-0.45, light_azimuth=1.6, light_elevation=-0.5),
}


def _fresh_plank(desk: Desk) -> Callable[[tuple[PlankChoice, ...]], PlankChoice]:
    def make(rows: tuple[PlankChoice, ...]) -> PlankChoice:
        typed = from_keel_up(conversion.typed_table(desk.project).lines)
        names = [line.name for line in typed if line.role is not Role.STEM]
        lower = rows[-1].upper if rows else (names[0] if names else "keel")
        after = names[names.index(lower) + 1 :] if lower in names else []
        upper = after[0] if after else (names[-1] if names else "sheer")
        thickness = rows[-1].thickness if rows else 6.0
        name = own_name("plank", {r.name for r in rows})
        return PlankChoice(name=name, lower=lower, upper=upper, thickness=thickness)

    return make


class PlankingStep(Step):
    """Planks, their twist and bend."""

    title = "Planking"
    needs = Stage.PLANKING

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.canvas = ShadedCanvas()
        self.canvas.describe = self._describe
        self._drawn: tuple[Planking | None, str, float] = (None, "", 0.0)
        self.canvas.picked.connect(self._picked)
        self.colour = QComboBox()
        self.colour.addItems([LIGHT, TWIST, BEND, STRAIN, STRETCH])
        self.colour.setAccessibleName("What the colour shows")
        self.colour.currentTextChanged.connect(lambda _t: self._draw())
        self.graph = Plot("along the plank, m", "")
        self.plank = QComboBox()
        self.plank.setAccessibleName("The plank of the graph")
        self.plank.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.plank.currentTextChanged.connect(lambda _t: self._plank_chosen())
        self.place(
            scrolled(*self._figures()),
            stacked(self._picture(), self._graph(), shares=(3, 2)),
            shares=(8, 11),
        )

    def _figures(self) -> list[QWidget]:
        def lines() -> tuple[str, ...]:
            return tuple(ln.name for ln in self.desk.project.plan.lines if ln.role != "stem")

        planks = RecordsModel(
            self.desk,
            ("planking", "planks"),
            (
                Figure("name", "Plank", Kind.TEXT, width=85),
                Figure("lower", "From line", Kind.CHOICE, lines, width=75),
                Figure("upper", "to line", Kind.CHOICE, lines, width=75),
                Figure("thickness", "Thick", Kind.NUMBER, unit="mm"),
                Figure(
                    "material", "Plywood", Kind.CHOICE, tuple(p.key for p in PLYWOODS), width=90
                ),
                Figure(
                    "whole",
                    "One piece",
                    Kind.YES_NO,
                    tip="Made in one piece across the centreline, as a flat bottom is.",
                ),
            ),
            "plank",
        )
        corners = RecordsModel(
            self.desk,
            ("planking", "corners"),
            (
                Figure("line", "Along line", Kind.CHOICE, lines, width=110),
                Figure(
                    "joint",
                    "planks meet so",
                    Kind.CHOICE,
                    tuple(c.value for c in Corner),
                    width=220,
                ),
            ),
            "joint",
        )

        def splittable() -> tuple[str, ...]:
            project = self.desk.project
            split = [s for s in conversion.plank_splits(project) if not s.on_centre]
            strakes = [name for s in split for name in (s.below, s.above)]
            return tuple(p.name for p in project.planking.planks) + tuple(strakes)

        splits = RecordsModel(
            self.desk,
            ("planking", "splits"),
            (
                Figure("plank", "Plank", Kind.CHOICE, splittable, width=80),
                Figure("stem", "at stem", Kind.NUMBER, tip=SHARE, width=60),
                Figure("middle", "middle", Kind.NUMBER, tip=SHARE, width=55),
                Figure("transom", "transom", Kind.NUMBER, tip=SHARE, width=60),
                Figure("run", "seam runs", Kind.CHOICE, tuple(r.value for r in SeamRun), width=150),
                Figure(
                    "joint",
                    "strakes meet so",
                    Kind.CHOICE,
                    tuple(j.value for j in SplitJoint),
                    width=170,
                ),
                Figure("lap", "Lap", tip="Breadth of the lap, where they lap"),
                Figure("batten_width", "Batten\nwide", tip="Of the seam batten inside; 0: none"),
                Figure("batten_thickness", "thick", tip="Of the seam batten"),
            ),
            "split",
        )
        self.splits = Records(
            splits,
            lambda rows: SplitChoice(plank=next(iter(splittable()), "side")),
            title="Planks split lengthwise",
        )
        self.planks = Records(planks, _fresh_plank(self.desk), title="Planks, from the keel up")
        self.corners = Records(
            corners,
            lambda rows: CornerChoice(
                line=next(iter(lines()), "chine"), joint="inner corners touch"
            ),
            title="How planks meet",
        )
        self.hollow = hollow_note()
        self.result = QTreeWidget()
        self.result.setHeaderLabels(
            ["Plank", "Twist", "Radius", "× least", "Bend", "Up to", "Area m²", "Strain"]
        )
        head = self.result.headerItem()
        for place, tip in enumerate(COLUMN_TIPS):
            head.setToolTip(place, tip)
        for place in (1, 2, 3, 5, 6, 7):
            head.setTextAlignment(place, Qt.AlignmentFlag.AlignRight)
        head.setTextAlignment(4, Qt.AlignmentFlag.AlignHCenter)
        self.result.setRootIsDecorated(False)
        self.result.setAccessibleName("What was found for each plank")
        self.result.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.result.setFixedHeight(self.result.fontMetrics().height() * 8)
        self.result.currentItemChanged.connect(
            lambda now, _b: self.plank.setCurrentText(now.text(0)) if now else None
        )
        self.result.header().setStretchLastSection(False)
        settings = Form(
            self.desk,
            ("planking",),
            (
                Figure("twist_limit_deg", "Twist worth a look", Kind.NUMBER, unit="degrees"),
                Figure("samples", "Points along each line", Kind.WHOLE),
            ),
        )
        self.develop = DevelopPanel(self.desk)
        self.usual = UsualBoat(self.desk)
        return [
            self.usual,
            self.planks,
            heading("Can flat plywood make it?"),
            self.result,
            self.develop,
            self.corners,
            self.hollow,
            self.splits,
            settings,
        ]

    def _picture(self) -> QWidget:
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(QLabel("Colour shows"))
        row.addWidget(self.colour)
        row.addStretch(1)
        self.seen = QComboBox()
        self.seen.addItems(list(VIEWS))
        self.seen.setAccessibleName("Where the hull is seen from")
        self.seen.textActivated.connect(lambda name: self.canvas.look_from(VIEWS[name]))
        row.addWidget(QLabel("Seen"))
        row.addWidget(self.seen)
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(row)
        layout.addWidget(self.canvas, 1)
        return inside

    def _graph(self) -> QWidget:
        row = QHBoxLayout()
        row.setContentsMargins(0, 4, 0, 0)
        row.addWidget(QLabel("Along"))
        row.addWidget(self.plank)
        row.addStretch(1)
        top = QWidget()
        top.setLayout(row)
        box = column(top, self.graph, spacing=2)
        self.look_for = words("")
        box.layout().addWidget(self.look_for)  # type: ignore[union-attr]
        return box

    def show_boat(self, boat: Boat) -> None:
        """Draw hull, figures and graph anew."""
        super().show_boat(boat)
        planking = boat.shape_planking
        self.canvas.hint = FLAT_PANELS if self.desk.project.plan.panels else HINT
        names = [p.spec.name for p in planking.planks] if planking else []
        if names != [self.plank.itemText(n) for n in range(self.plank.count())]:
            kept = self.plank.currentText()
            self.plank.blockSignals(True)
            self.plank.clear()
            self.plank.addItems(names)
            if kept in names:
                self.plank.setCurrentText(kept)
            self.plank.blockSignals(False)
        self.usual.offer()
        self.result.clear()
        for plank in planking.planks if planking else ():
            self.result.addTopLevelItem(self._row(plank))
        tell_hollows(self.hollow, boat.planking, self._printed)
        self.develop.show_boat(boat, self.plank.currentText())
        self._draw()

    def _row(self, plank: Plank) -> QTreeWidgetItem:
        bend = plank.bend
        clear = plank.outside_fans if len(plank.outside_fans) else np.ones(len(bend.ratio), bool)
        ratio, radius = np.asarray(bend.ratio), np.asarray(bend.radius)
        finite = np.isfinite(ratio) & clear
        hardest = int(np.where(finite, ratio, np.inf).argmin()) if finite.any() else -1
        twist = float(np.max(np.where(clear, plank.twist, 0.0)))
        thickest = thickest_along(plank.spec.material, radius, bend.axis_to_grain, clear)
        row = QTreeWidgetItem(
            [
                plank.spec.name,
                f"{degrees(twist):.1f}°",
                self._radius(radius[hardest]) if hardest >= 0 else "flat",
                f"{ratio[hardest]:.1f}" if hardest >= 0 else "",
                bend.grade.value,
                f"{thickest:g} mm" if thickest is not None else "none",
                f"{plank.area:.2f}",
                f"{plank.strain * 100:.2f} %" if plank.strain > 5e-5 else "none",
            ]
        )
        for place in (1, 2, 3, 5, 6, 7):
            row.setTextAlignment(place, Qt.AlignmentFlag.AlignRight)
        row.setTextAlignment(4, Qt.AlignmentFlag.AlignHCenter)
        source = f"Least radii: {radius_source(plank.spec.material)}"
        for place in (2, 3, 4):
            row.setToolTip(place, source)
        row.setToolTip(5, f"The thickest stock sheet that takes the bend dry. {source}")
        return row

    def _radius(self, radius: float) -> str:
        return self._printed(radius)

    def _printed(self, length: float) -> str:
        notation = self.desk.notation
        unit = " mm" if notation is Notation.MILLIMETRES else ""
        return print_length(length, notation) + unit

    def has_result(self, boat: Boat) -> bool:
        """There are planks."""
        return boat.shape_planking is not None and bool(boat.shape_planking.planks)

    def _draw(self) -> None:
        planking = self.boat.shape_planking if self.boat else None
        kind = self.colour.currentText()
        said = LOOK_FOR[kind]
        if kind == BEND and planking is not None:
            sources = dict.fromkeys(radius_source(p.spec.material) for p in planking.planks)
            said += f" Radii: {'; '.join(sources)}."
        self.look_for.setText(said)
        limit = self.desk.project.planking.twist_limit_deg
        before, self._drawn = self._drawn, (planking, kind, limit)
        if planking is not None and before[0] is planking and before[1:] == (kind, limit):
            pass  # thousands of facets that stand there already
        elif kind == LIGHT or planking is None:
            self.canvas.show_planking(planking)
        else:
            unit = {TWIST: "°", BEND: "", STRAIN: " %", STRETCH: " %"}[kind]
            level, words_ = self._limit(kind, planking)
            found = _top_of(planking, kind)
            # a wrong figure must not press what matters into one end of the colours
            top = min(found, MOST_OF_LIMIT * level) if level > 0.0 else found
            more = " and more" if top < found else ""
            self.canvas.show_planking(
                planking,
                lambda plank, spans: np.clip(_spanned(_clear(plank, kind), spans) / top, 0, 1),
                Legend(
                    NAMES[kind],
                    f"0{unit}",
                    f"{top:.3g}{unit}{more}",
                    level / top,
                    f"{level:.3g}{unit}: {words_}",
                ),
            )
        self._draw_graph()

    def _plank_chosen(self) -> None:
        self._draw_graph()
        if self.boat is not None:
            self.develop.show_boat(self.boat, self.plank.currentText())

    def _draw_graph(self) -> None:
        self.graph.clear()
        planking = self.boat.shape_planking if self.boat else None
        plank = (
            next((p for p in planking.planks if p.spec.name == self.plank.currentText()), None)
            if planking
            else None
        )
        if plank is None:
            return
        shown = self.colour.currentText()
        kind = BEND if shown == LIGHT else shown
        labels = {
            TWIST: "twist, degrees",
            BEND: "least radius / radius",
            STRAIN: "strain, %",
            STRETCH: "strain in plane, %",
        }
        self.graph.item.setLabel("left", labels[kind])
        x = np.asarray(plank.position) / 1000.0
        order = np.argsort(x, kind="stable")
        self.graph.zero()
        self.graph.curve(x[order], _clear(plank, kind)[order], Pen.CHINE)
        level, name = self._limit(kind, planking, plank)
        self.graph.level(level, name)
        self.graph.fit(top=level * 1.3)

    def _limit(
        self, kind: str, planking: Planking | None, plank: Plank | None = None
    ) -> tuple[float, str]:
        """The value that matters, and its words; of the weakest plywood where no plank is named."""
        if kind == TWIST:
            return self.desk.project.planking.twist_limit_deg, "worth a look"
        if kind == BEND:
            return 1.0, "published least radius"
        planks = [plank] if plank is not None else list(planking.planks if planking else ())
        breaks = min(plywood(p.spec.material).rupture_strain for p in planks) * 100
        return (
            (IN_PLANE_SHARE * breaks, "can be pulled in") if kind == STRETCH else (breaks, "breaks")
        )

    def _picked(self, key: str) -> None:
        if key.startswith("plank/"):
            self.plank.setCurrentText(key.split("/", 1)[1])
            self.canvas.light({key})

    def _describe(self, key: str) -> str:
        planking = self.boat.shape_planking if self.boat else None
        if key.startswith("plank/") and planking:
            for plank in planking.planks:
                if plank.spec.name == key.split("/", 1)[1]:
                    return (
                        f"{plank.spec.name}: {plank.spec.thickness:g} mm {plank.spec.material}, "
                        f"bend {plank.bend.grade.value}, twist up to "
                        f"{degrees(float(np.max(plank.twist))):.1f}°"
                    )
        return key.replace("/", " ")

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The plank, lit, and its graph."""
        lines = [row.line for row in self.corners.model.rows]
        if where.get("line") in lines:
            at = self.corners.model.index(lines.index(str(where["line"])), 0)
            self.corners.grid.setCurrentIndex(at)
        name = str(where.get("plank", ""))
        if not name:
            return
        self.plank.setCurrentText(name)
        self.canvas.light({f"plank/{name}"})
        for number, row in enumerate(self.planks.model.rows):
            if row.name == name:
                self.planks.grid.setCurrentIndex(self.planks.model.index(number, 0))


def _values(plank: Plank, kind: str) -> Array:
    """One value a ruling: twist in degrees, least radius over radius, strain in percent."""
    if kind == TWIST:
        return np.degrees(np.asarray(plank.twist, dtype=float))
    if kind == STRETCH:
        along = np.asarray(plank.strain_along, dtype=float) * 100.0
        return along if len(along) else np.zeros(len(plank.rulings))
    if kind == STRAIN:
        return np.asarray(plank.bend.strain, dtype=float) * 100.0
    ratio = np.asarray(plank.bend.ratio, dtype=float)
    return np.where(np.isfinite(ratio) & (ratio > 0), 1.0 / np.maximum(ratio, 1e-6), 0.0)


def _clear(plank: Plank, kind: str) -> Array:
    """The same, with what lies in the fans at the ends, where a ruling tells nothing of the bend,
    taken from the nearest ruling clear of them."""
    values = _values(plank, kind)
    clear = np.flatnonzero(plank.outside_fans)
    if not len(clear) or len(clear) == len(values):
        return values
    return np.interp(np.arange(len(values)), clear, values[clear])


def _spanned(values: Array, spans: Array) -> Array:
    """The mean of a value over the rulings of each facet."""
    first, last = spans[:, 0].astype(int), spans[:, 1].astype(int)
    sums = np.concatenate([[0.0], np.cumsum(values)])
    return (sums[last + 1] - sums[first]) / (last - first + 1)


def _top_of(planking: Planking, kind: str) -> float:
    """The value the ramp ends at: round, and not below what matters."""
    least = {TWIST: 5.0, BEND: 1.2, STRAIN: 0.3, STRETCH: 0.3}[kind]
    found = max(float(_clear(p, kind).max()) for p in planking.planks)
    if found <= least:
        return least
    step = 10.0 ** np.floor(np.log10(found)) / 5.0
    return float(np.ceil(found / step) * step)
