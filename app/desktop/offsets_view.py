"""The view of the table of offsets: keyboard first, suspect figures with their candidates."""

import re
from typing import Any

from PySide6.QtCore import (
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QContextMenuEvent,
    QFontMetrics,
    QKeyEvent,
    QKeySequence,
)
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QInputDialog,
    QMenu,
    QWidget,
)

from app.desktop.figures import Figure, read
from app.desktop.offsets_cells import OffsetDelegate
from app.desktop.offsets_model import LABEL, OffsetsModel, Place
from app.desktop.records import Grid
from app.project.document import Accepted
from app.project.editing import (
    HALF_BREADTH,
    HEIGHT,
    mark_of,
    put,
    station_inserted,
    station_removed,
    with_mark,
)
from lofting.findings import Refused
from lofting.lengths import Notation
from lofting.slips import Suspect

Index = QModelIndex | QPersistentModelIndex


class OffsetsView(Grid):
    """The grid of offsets.

    Signals: at(Place): the cursor is on another cell. block_pasted(text): a block that must be
    understood first.
    """

    at = Signal(object)
    block_pasted = Signal(str)

    def __init__(self, model: OffsetsModel) -> None:
        super().__init__()
        self.table = model
        self.setModel(model)
        self.setAlternatingRowColors(False)
        self.setItemDelegate(OffsetDelegate(self))
        self.setAccessibleName("Table of offsets")
        self.setTabKeyNavigation(True)
        self.verticalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        )
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        model.modelReset.connect(self._reset)
        model.dataChanged.connect(self._widen)
        self.selectionModel().currentChanged.connect(self._moved)
        self.fit_columns()
        self._start()

    def _start(self) -> None:
        """The cursor on the first cell that can be typed in."""
        for row in range(self.table.rowCount()):
            for column in range(self.table.columnCount()):
                place = self.table.place(self.table.index(row, column))
                if self.table.is_open(place) and place.coordinate != LABEL:
                    self.setCurrentIndex(self.table.index(row, column))
                    return

    def fit_columns(self) -> None:
        """Columns wide enough for the figures."""
        self.resizeColumnsToContents()
        feet = self.table.plan.notation in ("ft-in-8", "ft in frac")
        least = self.fontMetrics().horizontalAdvance("00-00-0+" if feet else "00000") + 10
        for number in range(self.table.columnCount()):
            self.setColumnWidth(number, max(least, self.columnWidth(number)))

    def _widen(self, first: Index, last: Index) -> None:
        """Make room for longer figures than were there: feet and inches in a table begun in mm.
        Never narrower, so that nothing moves to and fro under the hand that types."""
        font = self.font()
        font.setBold(True)  # as a suspect figure is written
        metrics = QFontMetrics(font)
        for column in range(first.column(), last.column() + 1):
            rows = range(first.row(), last.row() + 1)
            texts = (self.table.text(self.table.place(self.table.index(r, column))) for r in rows)
            wanted = max(map(metrics.horizontalAdvance, texts), default=0) + 14
            if wanted > self.columnWidth(column):
                self.setColumnWidth(column, wanted)

    def _reset(self) -> None:
        self.fit_columns()
        if not self.currentIndex().isValid():
            self._start()

    def _moved(self, current: QModelIndex, _before: QModelIndex) -> None:
        if current.isValid():
            self.at.emit(self.table.place(current))

    def go(self, line: str, point: str, coordinate: str) -> bool:
        """Put the cursor on a place; False when the grid does not hold it."""
        index = self.table.index_of(line, point, coordinate)
        if index.isValid():
            choose = QItemSelectionModel.SelectionFlag.ClearAndSelect
            self.selectionModel().setCurrentIndex(index, choose)
            self.scrollTo(index)
        return index.isValid()

    def current_place(self) -> Place | None:
        """The place the cursor is on."""
        index = self.currentIndex()
        return self.table.place(index) if index.isValid() else None

    def chosen(self) -> list[Place]:
        """The chosen places."""
        return [self.table.place(i) for i in self.selectionModel().selectedIndexes()]

    # --- keys ------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Figures are typed over; the rest by these keys."""
        keys, key = Qt.Key, event.key()
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        plain = event.modifiers() in (
            Qt.KeyboardModifier.NoModifier,
            Qt.KeyboardModifier.KeypadModifier,
        )
        actions = {
            keys.Key_D: self.fill_down,
            keys.Key_R: self.fill_across,
            keys.Key_I: self.insert_station,
            keys.Key_K: self.toggle_knuckle,
            keys.Key_P: self.toggle_pin,
            keys.Key_T: self.ask_tolerance,
        }
        if event.matches(QKeySequence.StandardKey.Cut):
            self._copy_and_clear()
        elif control and key == keys.Key_Delete:
            self.remove_station()
        elif control and shift and key == keys.Key_I:
            self.insert_station(after=True)
        elif control and key in actions:
            actions[keys(key)]()
        elif plain and key == keys.Key_Space:
            self.show_candidates()
        elif plain and key in (keys.Key_Delete, keys.Key_Backspace):
            self.clear_chosen()
        elif plain and key in (keys.Key_Return, keys.Key_Enter):
            self._down()
        else:
            super().keyPressEvent(event)

    def _copy_and_clear(self) -> None:
        super().keyPressEvent(
            QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
        )
        self.clear_chosen()

    def _down(self) -> None:
        here = self.currentIndex()
        row = here.row() + 1
        while row < self.table.rowCount():
            index = self.table.index(row, here.column())
            if self.table.is_open(self.table.place(index)):
                self.setCurrentIndex(index)
                return
            row += 1

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        """Enter goes down; Escape forgets what was typed."""
        super().closeEditor(editor, hint)
        if hint is QAbstractItemDelegate.EndEditHint.SubmitModelCache:
            self._down()
        elif hint is QAbstractItemDelegate.EndEditHint.RevertModelCache:
            self.table.desk.type(None)

    def clear_chosen(self) -> None:
        """Blank the chosen cells."""
        places = [p for p in self.chosen() if p.coordinate != LABEL]
        if places:
            self.table.put(dict.fromkeys(places, ""), "clear figures")

    def fill_down(self) -> None:
        """The top cell's text into all cells chosen under it."""
        self._fill(down=True)

    def fill_across(self) -> None:
        """The first cell's text into all cells chosen beside it."""
        self._fill(down=False)

    def _fill(self, *, down: bool) -> None:
        chosen = self.selectionModel().selectedIndexes()
        first: dict[int, QModelIndex] = {}
        for index in chosen:
            along, rank = (index.column(), index.row()) if down else (index.row(), index.column())
            old = first.get(along)
            if old is None or rank < (old.row() if down else old.column()):
                first[along] = index
        texts = {}
        for index in chosen:
            source = first[index.column() if down else index.row()]
            place = self.table.place(index)
            if place.coordinate != LABEL:
                texts[place] = self.table.text(self.table.place(source))
        if texts:
            self.table.put(texts, "fill figures")

    def paste(self, text: str) -> None:
        """One figure, or a bare block, goes in at the cursor; a table with headings is shown
        first as it was understood."""
        lines = [line for line in text.replace("\r", "").split("\n") if line.strip()]
        if not lines:
            return
        fields = [line.split("\t") for line in lines]
        if not all(_is_plain(f.strip()) for row in fields for f in row):
            self.block_pasted.emit(text)
            return
        start, texts = self.currentIndex(), {}
        for down, row in enumerate(fields):
            for across, value in enumerate(row):
                index = self.table.index(start.row() + down, start.column() + across)
                if index.isValid() and self.table.is_open(self.table.place(index)):
                    texts[self.table.place(index)] = value.strip()
        if texts:
            self.table.put(texts, "paste figures")

    # --- stations and marks ----------------------------------------------------------------------

    def _station(self) -> int:
        place = self.current_place()
        stations = self.table.plan.stations
        if place is None or place.point == "stern":
            return len(stations)
        return place.number or 0

    def insert_station(self, after: bool = False) -> None:
        """A blank station before (or after) the cursor's."""
        plan = self.table.plan
        number = self._station() + (1 if after and plan.stations else 0)
        plan = station_inserted(plan, min(number, len(plan.stations)))
        self.table.put_plan(plan, "insert a station")

    def remove_station(self) -> None:
        """Take out the cursor's station with all its figures."""
        place = self.current_place()
        if place is not None and place.number is not None:
            plan = station_removed(self.table.plan, place.number)
            self.table.put_plan(plan, f"remove station {place.point}")

    def _mark(self, what: str, **values: Any) -> None:
        plan = self.table.plan
        for place in self.chosen():
            if place.line >= 0:
                plan = with_mark(plan, place.line, place.point, **values)
        self.table.put_plan(plan, what)

    def toggle_knuckle(self) -> None:
        """The line turns a corner at the chosen points, or no longer."""
        place = self.current_place()
        if place is not None and place.line >= 0:
            now = mark_of(self.table.plan.lines[place.line], place.point).knuckle
            self._mark("knuckle" if not now else "no knuckle", knuckle=not now)

    def toggle_pin(self) -> None:
        """Fairing leaves the chosen points alone, or no longer."""
        place = self.current_place()
        if place is not None and place.line >= 0:
            now = mark_of(self.table.plan.lines[place.line], place.point).pinned
            self._mark("pin" if not now else "unpin", pinned=not now)

    def ask_tolerance(self) -> None:
        """How far the chosen figures may have been misread; blank: as the whole plan."""
        place = self.current_place()
        if place is None or place.line < 0:
            return
        now = mark_of(self.table.plan.lines[place.line], place.point).tolerance
        text, sure = QInputDialog.getText(
            self,
            "Reading tolerance",
            "Either way, in mm (blank: as the whole plan):",
            text="" if now is None else f"{now:g}",
        )
        if not sure:
            return
        figure = Figure("tolerance", "Tolerance", may_be_blank=True)
        try:
            self._mark("set a tolerance", tolerance=read(text, figure, Notation.MILLIMETRES))
        except Refused as problem:
            self.table.desk.trouble.emit(problem.reason)

    # --- candidates ------------------------------------------------------------------------------

    def candidates_menu(self, place: Place) -> QMenu | None:
        """What a suspect figure may have been, best first, or the corner that a line seems to turn
        there; None for a figure with nothing said against it."""
        suspect, corner = self.table.suspect(place), self.table.corner(place)
        if suspect is None and corner is None:
            return None
        menu = QMenu(self)
        head = menu.addAction(
            "the line seems to turn a corner here"
            if suspect is None
            else f"{suspect.typed_text} typed; the batten wants {suspect.expected:.0f} "
            f"± {suspect.band:.0f} mm"
        )
        head.setEnabled(False)
        knuckle = ("Mark a knuckle: the line turns a corner here", self.toggle_knuckle)
        if corner is not None:
            menu.addAction(knuckle[0]).triggered.connect(knuckle[1])
            suspect = suspect or corner.instead
        for candidate in suspect.candidates if suspect is not None else ():
            at = self._place_of(suspect, place)
            what = candidate.text if at == place else f"{candidate.text} at {at.point}"
            more = " (all its figures)" if len(candidate.cells) > 2 else ""
            action = menu.addAction(f"{what}   {candidate.reason}{more}")
            action.triggered.connect(
                lambda _c=False, p=at, mended=candidate: self.table.mend(p, mended)
            )
        menu.addSeparator()
        if corner is None and place.line >= 0 and place.coordinate in (HALF_BREADTH, HEIGHT):
            menu.addAction(knuckle[0]).triggered.connect(knuckle[1])
        if self.table.suspect(place) is not None:
            right = menu.addAction("It stands so on the plan")
            right.triggered.connect(lambda: self.accept(place))
        return menu

    def _place_of(self, suspect: Suspect | None, place: Place) -> Place:
        """The cell a suspect stands for; a corner's other reading may be a cell beside it."""
        if suspect is None or self.table.suspect(place) is suspect:
            return place
        index = self.table.index_of(suspect.line, suspect.point, suspect.coordinate)
        return self.table.place(index) if index.isValid() else place

    def accept(self, place: Place) -> None:
        """The suspect figure was compared with the plan and stays."""
        desk = self.table.desk
        suspect = self.table.suspect(place)
        if suspect is None:
            return
        where = {"line": suspect.line, "point": suspect.point, "coordinate": suspect.coordinate}
        key = "suspect-offset" + "".join(f"|{k}={v}" for k, v in sorted(where.items()))
        kept = tuple(a for a in desk.project.accepted if a.finding != key)
        new = Accepted(finding=key, reason="compared with the plan: it stands so")
        desk.edit(put(desk.project, ("accepted",), (*kept, new)), "accept a figure")

    def show_candidates(self) -> None:
        """Open the menu of candidates at the cursor, the best already chosen."""
        place = self.current_place()
        menu = self.candidates_menu(place) if place else None
        if menu is None:
            return
        actions = menu.actions()
        if len(actions) > 1:
            menu.setActiveAction(actions[1])
        menu.popup(self.viewport().mapToGlobal(self.visualRect(self.currentIndex()).bottomLeft()))

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Candidates first, then what can be done to the cell."""
        place = self.current_place()
        if place is None:
            return
        menu = self.candidates_menu(place) or QMenu(self)
        menu.addSeparator()
        for words, do in (
            ("Fill down   Ctrl+D", self.fill_down),
            ("Fill across   Ctrl+R", self.fill_across),
            ("Clear   Del", self.clear_chosen),
            ("Station before   Ctrl+I", self.insert_station),
            ("Station after   Ctrl+Shift+I", lambda: self.insert_station(after=True)),
            ("Remove this station   Ctrl+Del", self.remove_station),
            ("Knuckle here   Ctrl+K", self.toggle_knuckle),
            ("Pin for fairing   Ctrl+P", self.toggle_pin),
            ("Reading tolerance ...   Ctrl+T", self.ask_tolerance),
        ):
            menu.addAction(words).triggered.connect(lambda _c=False, d=do: d())
        menu.popup(event.globalPos())


DOUBTFUL = re.compile(r"[A-Za-z]{3}|;|\d[.,]\d{3}(?!\d)|\d[.,]\d+[.,]\d|\d\s+\d{3}(?!\d)")
"""What makes a pasted field more than one figure: words, other separators, thousands."""


def _is_plain(text: str) -> bool:
    """Whether a pasted field is one figure (or blank) that can be read in one way only."""
    return DOUBTFUL.search(text) is None
