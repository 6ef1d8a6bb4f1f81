"""What is offered where a table has been typed and nothing else: the usual planks and parts."""

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from app.desktop.desk import Desk
from app.desktop.forms import words
from app.project import conversion
from app.project.new import with_usual_boat
from lofting.findings import Refused

OFFER = (
    "No planks yet. A plank lies between each line and the next, so they can be put in at once, "
    "with bulkheads, transom, stock, a gunwale and a first load case to change as your plan has "
    "them. A flat bottom that the table gives only the edges of gets a line along its middle."
)


class UsualBoat(QWidget):
    """Hidden where there are planks, or where the plan gives flat panels."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.says = words(OFFER)
        self.button = QPushButton("Put in the usual planks and parts")
        self.button.setToolTip("Around the table as it is typed; can be undone")
        self.button.clicked.connect(self.put_in)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.says)
        layout.addWidget(self.button)
        self.offer()

    def offer(self) -> None:
        """Show or hide, by what the project has."""
        project = self.desk.project
        self.says.setText(OFFER)
        self.setVisible(not project.planking.planks and not project.plan.panels)
        self.button.setEnabled(len(project.plan.lines) > 1)

    def put_in(self) -> None:
        """Put them into the project, or tell what the table lacks."""
        project = self.desk.project
        try:
            whole = with_usual_boat(
                project, conversion.typed_table(project), conversion.conventions(project)
            )
        except Refused as refused:
            self.says.setText(f"The table is not enough yet: {refused.reason} {refused.remedy}")
            return
        self.desk.edit(whole, "put in usual planks and parts")
