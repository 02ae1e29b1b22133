"""Why nothing is heard: the cause, the reason, the next step, and what was tried, folded away."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from fleet.model.meeting import Diagnosis, Obstacle
from fleet.model.snapshot import ItemState
from ui.presenters.diagnosis_words import cause_words, tried_heading
from ui.widgets.state_glyph import StateGlyph

HEAD_POINTS = 14


class DiagnosisBox(QFrame):
    """A framed box, hidden until there is something to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Say nothing yet."""
        super().__init__(parent)
        self.setObjectName("notice")
        self.glyph = StateGlyph(ItemState.LOOK)
        self.cause, self.reason, self.next_step = _label(), _label(), _label()
        font = QFont(self.cause.font())
        font.setPointSize(HEAD_POINTS)
        font.setBold(True)
        self.cause.setFont(font)
        self.unfold = QToolButton()
        self.unfold.setCheckable(True)
        self.unfold.toggled.connect(self._fold)
        self.tried = _label()
        self.close_it = QToolButton()
        self.close_it.setText("Close")
        self.close_it.setAccessibleName("Close the diagnosis")
        self.close_it.clicked.connect(self.hide)
        head = QHBoxLayout()
        head.addWidget(self.glyph, 0, Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(self.cause, 1)
        head.addWidget(self.close_it)
        layout = QVBoxLayout(self)
        layout.addLayout(head)
        for widget in (self.reason, self.next_step):
            layout.addWidget(widget)
        layout.addWidget(self.unfold, 0, Qt.AlignmentFlag.AlignLeft)
        layout.addWidget(self.tried)
        self.hide()

    def show_diagnosis(self, found: Diagnosis) -> None:
        """Say what was found, folded."""
        well = found.obstacle is Obstacle.NONE
        self.glyph.show_state(ItemState.SHOWN if well else ItemState.WRONG)
        self.cause.setText(cause_words(found))
        self.reason.setText(found.reason)
        self.next_step.setText(found.next_step)
        self.next_step.setVisible(bool(found.next_step))
        self.tried.setText("\n".join(found.tried))
        self.unfold.setChecked(False)
        self._fold(open_now=False)
        self.unfold.setVisible(bool(found.tried))
        self.show()

    def _fold(self, open_now: bool) -> None:  # noqa: FBT001 - Qt's signal
        heading = tried_heading(len(self.tried.text().splitlines()), open_now=open_now)
        self.unfold.setText(heading)
        self.unfold.setAccessibleName(heading)
        self.tried.setVisible(open_now)


def _label() -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    return label
