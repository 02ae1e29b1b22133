"""The band over the plan while units show themselves: which one now, in large type, and what was found."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from ui.widgets.theme import enlarge

UNIT_POINTS = 22


class SweepBand(QFrame):
    """Unit, sentence and three large buttons; hidden while no sweep runs.

    Signals:
        found, elsewhere: what the person says of the unit that shows itself.
        stop_asked: the sweep is to end.
        closed: what came of it was read.
    """

    found = Signal()
    elsewhere = Signal()
    stop_asked = Signal()
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Say nothing yet."""
        super().__init__(parent)
        self.setObjectName("band")
        self.unit, self.said = _label(UNIT_POINTS, bold=True), _label(12)
        self.unit.setAccessibleName("Unit that shows itself")
        self.there = _button("Found it", "This unit shows itself where the plan says")
        self.there.setProperty("main", True)  # noqa: FBT003 - Qt's own call
        self.other = _button("Isn’t where the plan says …", "This unit isn’t where the plan says")
        self.stop = _button("Stop", "Stop the sweep")
        self.close_it = _button("Close", "Close what came of the sweep")
        for one, signal in (
            (self.there, self.found),
            (self.other, self.elsewhere),
            (self.stop, self.stop_asked),
            (self.close_it, self.closed),
        ):
            one.clicked.connect(lambda _=False, each=signal: each.emit())
        buttons = QHBoxLayout()
        for one in (self.there, self.other, self.stop, self.close_it):
            buttons.addWidget(one)
        layout = QVBoxLayout(self)
        layout.addWidget(self.unit)
        layout.addWidget(self.said)
        layout.addLayout(buttons)
        self.hide()

    def show_unit(self, unit: str, said: str, *, ticking: bool) -> None:
        """Say which unit shows itself; `ticking`: something may be said of it."""
        self._say(unit, said)
        self._offer(ended=False)
        for one in (self.there, self.other):
            if ticking and not one.isEnabled() and one is self.there:
                one.setEnabled(True)
                one.setFocus()
            one.setEnabled(ticking)

    def show_trouble(self, said: str) -> None:
        """Say what went wrong with the unit that shows itself."""
        self._say(self.unit.text(), said)

    def show_end(self, said: str) -> None:
        """Say what came of it."""
        self._say("The sweep is over", said)
        self._offer(ended=True)

    def _say(self, unit: str, said: str) -> None:
        if (self.unit.text(), self.said.text()) != (unit, said):
            self.unit.setText(unit)
            self.said.setText(said)
        self.show()

    def _offer(self, *, ended: bool) -> None:
        for one in (self.there, self.other, self.stop):
            one.setVisible(not ended)
        self.close_it.setVisible(ended)


def _label(points: int, *, bold: bool = False) -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    font = QFont(label.font())
    font.setPointSize(points)
    font.setBold(bold)
    label.setFont(font)
    return label


def _button(text: str, said: str) -> QPushButton:
    made = QPushButton(text)
    made.setAccessibleName(said)
    made.setAutoDefault(False)
    enlarge(made)
    return made
