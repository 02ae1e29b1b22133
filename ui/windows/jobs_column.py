"""The right column: what is left to do, of the chosen room or of the whole house."""

from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout, QWidget

from fleet.model.snapshot import HouseState
from ui.presenters.job_rows import job_groups
from ui.widgets.jobs_list import JobsList
from ui.windows.dialog_parts import wrapped


class JobsColumn(QWidget):
    """Jobs under a heading with one switch: this room, or the whole house."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.list = JobsList()
        self.whole = QCheckBox("Whole house")
        self.whole.setAccessibleName("Jobs of the whole house")
        self.whole.setChecked(True)
        self.whole.toggled.connect(lambda _: self._show())
        self._house: HouseState | None = None
        self._room, self._name = "", ""
        self.whose = wrapped("")
        heading = QHBoxLayout()
        heading.addWidget(wrapped("Jobs", points=12, bold=True))
        heading.addStretch(1)
        heading.addWidget(self.whole)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 10, 12, 10)
        layout.addLayout(heading)
        layout.addWidget(self.whose)
        layout.addWidget(self.list, 1)

    def show_house(self, house: HouseState) -> None:
        """Show another state."""
        self._house = house
        self._show()

    def show_room(self, room: str, name: str) -> None:
        """Count on a room for when not the whole house is asked for."""
        if room != self._room:
            self._room, self._name = room, name
            if not self.whole.isChecked():
                self._show()

    def _show(self) -> None:
        if self._house is None:
            return
        room = "" if self.whole.isChecked() else self._room
        self.whose.setText(f"of {self._name}" if room else "of the whole house")
        self.list.show_groups(job_groups(self._house, room))
