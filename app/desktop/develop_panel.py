"""What would make a twisted plank develop, and the buttons that ease its lines."""

from math import ceil

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.forms import heading, words
from app.pipeline import Boat
from app.project.easing import eased
from lofting.planking import ToDevelop, developing_findings


class DevelopPanel(QWidget):
    """Hidden where every plank develops."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._found: ToDevelop | None = None
        self._lines: tuple[str, str] | None = None
        self.title = heading("")
        self.says = words("")
        self.within = QPushButton("Ease its lines inside their tolerance")
        self.within.setToolTip("Fair both lines of the plank and ease them; can be undone")
        self.within.clicked.connect(lambda: self.ease(None))
        self.whole = QPushButton("")
        self.whole.setToolTip(
            "Allow the points of both lines as much, then fair and ease them; can be undone"
        )
        self.whole.clicked.connect(lambda: self.ease(self.needed()))
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.within)
        row.addWidget(self.whole)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.title)
        layout.addWidget(self.says)
        layout.addLayout(row)
        self.hide()

    def needed(self) -> float | None:
        """Millimetres either way, to half a millimetre, that the lines of the plank would need
        when both move; None where no move is enough."""
        if self._found is None or not self._found.ways:
            return None
        least = min(max(edge.largest for edge in way.edges) for way in self._found.ways)
        return ceil(2.0 * least) / 2.0

    def show_boat(self, boat: Boat, plank: str) -> None:
        """Show what is known of the plank, or of the first that twists too much."""
        named = [found for found in boat.to_develop if found.plank == plank]
        self._found = next(iter(named or boat.to_develop), None)
        self._lines = None
        if boat.planking is not None and self._found is not None:
            spec = boat.planking.plank(self._found.plank).spec
            self._lines = (spec.lower, spec.upper)
        self.setVisible(self._lines is not None)
        if self._found is None or self._lines is None:
            return
        (finding,) = developing_findings([self._found])
        self.title.setText(f"What would make {self._found.plank} develop")
        self.says.setText(finding.message)
        fairing = self.desk.project.fairing
        done = fairing.eased and set(self._lines) <= set(fairing.fair)
        self.within.setEnabled(not done)
        self.within.setText(
            "Eased inside their tolerance" if done else "Ease its lines inside their tolerance"
        )
        self.within.setVisible(not self._found.wild)
        most = self.needed()
        self.whole.setVisible(most is not None)
        self.whole.setText(f"Ease them, allowing {most:g} mm" if most is not None else "")

    def ease(self, allow: float | None) -> None:
        """Ease the lines of the plank shown, as one step of undo."""
        if self._found is None or self._lines is None:
            return
        project = eased(self.desk.project, self._lines, allow=allow)
        self.desk.edit(project, f"ease the lines of {self._found.plank}")
