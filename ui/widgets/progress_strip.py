"""The foot of the window: interface, units heard, reports, notes, and what is running, with its stop."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QSizePolicy, QWidget

from fleet.model.snapshot import HouseState, Snapshot
from ui.presenters.foot_line import FootLine, foot_line
from ui.presenters.notices import security_words, trouble_words


class ProgressStrip(QWidget):
    """What the foot says.

    Signals:
        stop_asked: key of the operation that is to stop.
        security_asked, troubles_asked: the sentences behind a count.
    """

    stop_asked = Signal(int)
    security_asked = Signal()
    troubles_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Say nothing yet."""
        super().__init__(parent)
        self.setObjectName("foot")
        self.setAccessibleName("Foot")
        self._line: FootLine | None = None
        self._interface, self._heard, self._rate = QLabel(), QLabel(), QLabel()
        self._trouble = QLabel()
        self._operation = QLabel()
        self._bar = QProgressBar()
        self._bar.setAccessibleName("How far it is")
        self._bar.setFixedWidth(180)
        self._bar.setTextVisible(False)
        self._stop = QPushButton("Stop")
        self._stop.setAccessibleName("Stop what is running")
        self._stop.clicked.connect(self._ask_to_stop)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 4, 16, 4)
        layout.setSpacing(24)
        for label in (self._interface, self._heard, self._rate):
            layout.addWidget(label)
        self.security, self.troubles = _quiet(), _quiet()
        self.security.clicked.connect(self.security_asked)
        self.troubles.clicked.connect(self.troubles_asked)
        for notice in (self.security, self.troubles):
            layout.addWidget(notice)
        self._trouble.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        layout.addWidget(self._trouble, 1)
        for widget in (self._operation, self._bar, self._stop):
            layout.addWidget(widget)
            policy = widget.sizePolicy()
            policy.setRetainSizeWhenHidden(widget is self._stop)
            widget.setSizePolicy(policy)
            widget.hide()

    def show_house(self, house: HouseState) -> None:
        """Say how many weak ways in there are, and how much went wrong."""
        for notice, words in (
            (self.security, security_words(house)),
            (self.troubles, trouble_words(house)),
        ):
            notice.setText(words)
            notice.setAccessibleName(f"Read the {words}" if words else "Nothing to read")
            notice.setVisible(bool(words))

    def show_snapshot(self, snapshot: Snapshot) -> None:
        """Say what a snapshot says."""
        line = foot_line(snapshot)
        if line == self._line:
            return
        self._line = line
        self._interface.setText(line.interface)
        self._heard.setText(line.heard)
        self._rate.setText(line.rate)
        self._operation.setText(line.operation)
        self._operation.setVisible(bool(line.operation))
        self._bar.setVisible(bool(line.operation))
        self._bar.setMaximum(0 if line.done_percent is None else 100)
        self._bar.setValue(line.done_percent or 0)
        self._stop.setVisible(line.stop_key is not None)

    def say(self, text: str) -> None:
        """Say something in passing, for example what a scan came to."""
        self._trouble.setText(text)
        self._trouble.setToolTip(text)

    def said(self) -> str:
        """Return what was said last."""
        return self._trouble.text()

    def _ask_to_stop(self) -> None:
        if self._line is not None and self._line.stop_key is not None:
            self.stop_asked.emit(self._line.stop_key)


def _quiet() -> QPushButton:
    made = QPushButton()
    made.setProperty("quiet", True)  # noqa: FBT003 - Qt's own call
    made.hide()
    return made
