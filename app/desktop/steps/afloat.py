"""Step 7, afloat: load cases with people who can be moved, how the boat floats, righting levers
and cautions."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.desktop.canvas import Canvas
from app.desktop.desk import Desk
from app.desktop.figures import Figure, Kind
from app.desktop.forms import heading, words
from app.desktop.plots import Plot
from app.desktop.records import Records, RecordsModel, own_name
from app.desktop.steps.base import Step, column, scrolled, stacked
from app.desktop.wrapped import wrap_rows
from app.drawing.aboard import aboard
from app.drawing.afloat import afloat_profile, heel_words, trim_words
from app.drawing.value import Drawing, Pen
from app.pipeline import Boat, Stage
from app.project.document import LoadCaseChoice, LoadItem
from app.project.editing import put
from lofting.hydrostatics import AfloatCase
from lofting.lengths import Notation, print_length

CAUTION = (
    "Worked out from what you typed; guidance, not a certificate. Weigh the boat, try it with care "
    "near the shore, wear a lifejacket, and keep to the loads, motors and flotation that your "
    "local rules and a licensed surveyor allow."
)
HINT = "The boat is floated here once she is planked and given a load case."
FLAT_PANELS = (
    "This plan gives its panels flat: she floats here once they have been sprung together on their "
    "seams and there is a load case."
)
LOOK_FOR = (
    "The curve shows how far the boat rights herself as she heels; it should rise steeply and stay "
    "above zero well past the heel at which water comes in. People who stand up or lean out use "
    "this lever up quickly. The dashed line is the slope at the start, GM."
)


class AfloatStep(Step):
    """Load cases and how the boat floats."""

    title = "Afloat"
    needs = Stage.AFLOAT

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.canvas = Canvas(hint=HINT)
        self.canvas.describe = self._describe
        self.canvas.may_drag = lambda key: key.startswith("load/")
        self.canvas.dragged.connect(lambda key, x, z: self._carry(key, x, z, done=False))
        self.canvas.dropped.connect(lambda key, x, z: self._carry(key, x, z, done=True))
        self.levers = Plot("heel, degrees", "righting lever GZ, mm", LOOK_FOR)
        self.case = QComboBox()
        self.case.setAccessibleName("The load case shown")
        self.case.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.case.currentIndexChanged.connect(lambda _n: self._chose_case())
        self.place(
            scrolled(*self._figures()),
            stacked(self._picture(), self.levers, shares=(6, 5)),
            shares=(8, 11),
        )

    def _figures(self) -> list[QWidget]:
        cases = RecordsModel(
            self.desk,
            ("load_cases",),
            (
                Figure("name", "Load case", Kind.TEXT, width=160),
                Figure(
                    "water_density",
                    "Water",
                    Kind.NUMBER,
                    unit="kg/m³",
                    tip="Fresh about 1000, sea about 1025",
                ),
            ),
            "load case",
        )
        self.cases = Records(
            cases,
            lambda rows: LoadCaseChoice(name=own_name("load case", {r.name for r in rows})),
            title="Load cases, the design case first",
        )
        self.cases.grid.selectionModel().currentRowChanged.connect(
            lambda now, _b: self.case.setCurrentIndex(now.row())
        )
        loads = RecordsModel(
            self.desk,
            self._loads_path,
            (
                Figure("name", "Carried", Kind.TEXT, width=120),
                Figure("mass", "kg", Kind.NUMBER),
                Figure("x", "x aft"),
                Figure("y", "y starboard"),
                Figure("z", "Height"),
                Figure("person", "Person", Kind.YES_NO),
            ),
            "load",
        )
        self.loads = Records(loads, self._fresh_load, title="Carried in the case shown")
        self.attitude = QTreeWidget()
        self.attitude.setColumnCount(7)
        self.attitude.setRootIsDecorated(False)
        self.attitude.setAccessibleName("How the boat floats in every case")
        self.attitude.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.attitude.header().setStretchLastSection(False)
        self.attitude.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)
        self.attitude.setColumnWidth(0, self.attitude.fontMetrics().horizontalAdvance("n" * 16))
        self.attitude.setFixedHeight(self.attitude.fontMetrics().height() * 8)
        self.rules = QTreeWidget()
        self.rules.setHeaderLabels(["Figure", "Value", "How it was reckoned"])
        self.rules.setRootIsDecorated(False)
        self.rules.setAccessibleName("Figures from public rules")
        self.rules.header().setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        self.rules.setColumnWidth(0, self.rules.fontMetrics().horizontalAdvance("n" * 18))
        self.rules.setColumnWidth(1, self.rules.fontMetrics().horizontalAdvance("n" * 9))
        wrap_rows(self.rules)
        self.rules.setMinimumHeight(self.rules.fontMetrics().height() * 12)
        self.weight = QLabel()
        self.weight.setWordWrap(True)
        return [
            column(heading("How she floats"), self.attitude, self.weight, words(CAUTION)),
            self.cases,
            self.loads,
            column(heading("Figures from public rules, for guidance"), self.rules),
        ]

    def _picture(self) -> QWidget:
        row = QWidget()
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(QLabel("Load case"))
        line.addWidget(self.case)
        line.addStretch(1)
        line.addWidget(QLabel("drag a person along the boat"))
        return column(row, self.canvas, spacing=3)

    def _fresh_load(self, rows: tuple[LoadItem, ...]) -> LoadItem:
        boat, name = self.boat, own_name("person", {r.name for r in rows})
        x, z = 2000.0, 500.0
        if boat is not None and boat.shape_lines is not None and boat.shape_lines.lines:
            points = np.vstack([line.faired for line in boat.shape_lines.lines])
            x = round(float(points[:, 0].mean()), -1)
            z = round(float(points[:, 2].max()) * 0.8, -1)
        return LoadItem(name=name, mass=80, x=x, z=z, person=True)

    def _loads_path(self) -> tuple[str | int, ...] | None:
        number = self.case.currentIndex()
        if 0 <= number < len(self.desk.project.load_cases):
            return ("load_cases", number, "loads")
        return None

    def _chose_case(self) -> None:
        if hasattr(self, "loads"):
            self.loads.model.refresh()
        self._draw()

    # --- what comes in ---------------------------------------------------------------------------

    def show_boat(self, boat: Boat) -> None:
        """Float her anew."""
        super().show_boat(boat)
        names = [case.name for case in self.desk.project.load_cases]
        if names != [self.case.itemText(n) for n in range(self.case.count())]:
            kept = self.case.currentText()
            self.case.blockSignals(True)
            self.case.clear()
            self.case.addItems(names)
            self.case.setCurrentIndex(max(names.index(kept) if kept in names else 0, 0))
            self.case.blockSignals(False)
            self.loads.model.refresh()
        self.canvas.hint = FLAT_PANELS if self.desk.project.plan.panels else HINT
        unit = "\nmm" if self.desk.notation is Notation.MILLIMETRES else ""
        self.attitude.setHeaderLabels(
            ["Case", "All up\nkg", f"Draught{unit}", "Trim", f"Freeboard{unit}", "GM\nmm", "Heel"]
        )
        self._list(boat)
        self._draw()

    def has_result(self, boat: Boat) -> bool:
        """She floats in some case."""
        return boat.afloat is not None and bool(boat.afloat.cases)

    def _list(self, boat: Boat) -> None:
        self.attitude.clear()
        for case in boat.afloat.cases if boat.afloat else ():
            a = case.attitude
            row = QTreeWidgetItem(
                [
                    case.case.name,
                    f"{case.mass:.0f}",
                    print_length(a.draught, self.desk.notation),
                    trim_words(a),
                    print_length(a.freeboard, self.desk.notation),
                    f"{a.gm_transverse:.0f}",
                    heel_words(a),
                ]
                if a.floats
                else [case.case.name, f"{case.mass:.0f}", "sinks", "", "", "", ""]
            )
            for place in range(1, 7):
                row.setTextAlignment(place, Qt.AlignmentFlag.AlignRight)
            self.attitude.addTopLevelItem(row)
        self.rules.clear()
        for guide in boat.guides:
            value = "none" if guide.value is None else f"{guide.value:.4g} {guide.unit}"
            item = QTreeWidgetItem([guide.name, value, f"{guide.rule} ({guide.source})"])
            for place in range(3):
                item.setToolTip(place, guide.caution)
            self.rules.addTopLevelItem(item)
        weights = boat.weights
        if weights is None:
            self.weight.clear()
            return
        groups = ", ".join(f"{name} {mass:.1f}" for name, mass in weights.by_group().items())
        said = f"The empty boat weighs <b>{weights.mass:.1f} kg</b> ({groups})"
        if boat.shape_planking is not None:  # parts of flat panels have no place in a boat
            x, _, z = (print_length(v, self.desk.notation) for v in weights.centre)
            said += f"; her centre lies {x} aft and {z} up"
        self.weight.setText(said + ".")

    def _shown_case(self) -> AfloatCase | None:
        afloat = self.boat.afloat if self.boat else None
        number = self.case.currentIndex()
        if afloat is None or not 0 <= number < len(afloat.cases):
            return None
        return afloat.cases[number]

    def _draw(self) -> None:
        case, boat = self._shown_case(), self.boat
        self.levers.clear()
        if case is None or boat is None or boat.shape_lines is None:
            self.canvas.show_drawing(Drawing())
            return
        drawing = afloat_profile(
            boat.shape_lines, case, lengths=lambda value: print_length(value, self.desk.notation)
        )
        carried = tuple(item for load in case.case.loads for item in aboard(load))
        self.canvas.show_drawing(Drawing(drawing.items + carried, drawing.title))
        if len(case.heel_angles):
            self.levers.zero()
            heel = np.degrees(np.asarray(case.heel_angles))
            self.levers.curve(heel, np.asarray(case.righting), Pen.WATER, width=2.4)
            self._reference_lines(case, heel)
            self.levers.fit()

    def _reference_lines(self, case: AfloatCase, heel: Any) -> None:
        """The slope at the start: GM, drawn as its tangent up to 20 degrees."""
        gm = case.attitude.gm_transverse
        top = float(np.max(case.righting)) if len(heel) > 1 else 0.0
        if gm > 0 and top > 0:
            reach = np.array([0.0, min(np.radians(20.0), 1.2 * top / gm)])
            self.levers.curve(np.degrees(reach), gm * reach, Pen.BEFORE, dashed=True, width=1.4)

    # --- by hand ---------------------------------------------------------------------------------

    def _carry(self, key: str, x: float, z: float, *, done: bool) -> None:
        name, number = key.split("/", 1)[1], self.case.currentIndex()
        project = self.desk.history.present
        if not 0 <= number < len(project.load_cases):
            return
        for row, load in enumerate(project.load_cases[number].loads):
            if load.name == name:
                moved = load.model_copy(update={"x": round(x, 0), "z": round(z, 0)})
                project = put(project, ("load_cases", number, "loads", row), moved)
                if done:
                    self.desk.edit(project, f"move {name}")
                else:
                    self.desk.type(project)
                return

    def _describe(self, key: str) -> str:
        case = self._shown_case()
        if key.startswith("load/") and case is not None:
            for load in case.case.loads:
                if load.name == key.split("/", 1)[1]:
                    return f"{load.name}: {load.mass:g} kg, x {load.x:.0f}, height {load.z:.0f}"
        names = {"centre/gravity": "centre of gravity G", "centre/buoyancy": "centre of buoyancy B"}
        return names.get(key, key.replace("/", " "))

    def go_to(self, where: Mapping[str, str | float]) -> None:
        """The load case."""
        self.case.setCurrentText(str(where.get("load case", self.case.currentText())))
