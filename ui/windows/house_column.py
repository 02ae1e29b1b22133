"""The left column: the house tree, and below it what was heard and has no place yet."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from fleet.model.snapshot import HouseState, Snapshot
from ui.presenters.house_rows import heard_hint, heard_rows, shown_of_house
from ui.widgets.house_tree import HouseTree
from ui.widgets.house_tree_heard import HeardList
from ui.windows.dialog_parts import button, wrapped


class HouseColumn(QWidget):
    """House and heard.

    Signals:
        place_asked: serial, key of a room or "".
    """

    place_asked = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.tree, self.heard = HouseTree(), HeardList()
        self.shown, self.heard_count, self.hint = QLabel(), QLabel(), wrapped("")
        self.no_rooms = wrapped("No rooms yet. Open the demo house or start a site: Ctrl+O.")
        self.scan = button("Scan", "Scan for units")
        self.scan.setShortcut("Ctrl+R")
        self.place = button("Place …", "Place the chosen unit in a room")
        self.heard.place_asked.connect(lambda serial: self.place_asked.emit(serial, ""))
        self.place.clicked.connect(lambda: self.place_asked.emit(self.heard.serial(), ""))
        self.tree.unit_dropped.connect(self.place_asked)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 10, 8, 10)
        layout.setSpacing(6)
        layout.addLayout(_heading("House", self.shown))
        layout.addWidget(self.no_rooms)
        layout.addWidget(self.tree, 1)
        layout.addLayout(_heading("Heard, not placed", self.heard_count))
        self.heard.setFixedHeight(self.heard.fontMetrics().height() * 5)
        layout.addWidget(self.heard)
        layout.addWidget(self.hint)
        buttons = QHBoxLayout()
        for widget in (self.scan, self.place):
            buttons.addWidget(widget)
        layout.addLayout(buttons)

    def show_house(self, house: HouseState) -> None:
        """Show the slow part."""
        self.tree.show_house(house)
        self.shown.setText(shown_of_house(house))
        self.no_rooms.setVisible(not house.plan.rooms)
        rows = heard_rows(house)
        self.heard.show_rows(rows)
        self.heard.setVisible(bool(rows))
        self.heard_count.setText(str(len(rows)))
        self.hint.setText(heard_hint(house))
        self.place.setEnabled(bool(rows) and bool(house.plan.rooms) and not house.read_only)
        self.scan.setEnabled(bool(house.plan.rooms))

    def show_live(self, snapshot: Snapshot) -> None:
        """Show the ages."""
        self.tree.show_live(snapshot.live)


def _heading(text: str, count: QLabel) -> QHBoxLayout:
    line = QHBoxLayout()
    line.addWidget(wrapped(text, points=12, bold=True))
    line.addStretch(1)
    line.addWidget(count)
    return line
