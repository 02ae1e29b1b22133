"""A room's checklist: each item with its state, its reason, a tick, or a reason to sign all the same."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from ui.presenters.checklist_rows import ChecklistRow
from ui.widgets.state_glyph import StateGlyph


class Checklist(QScrollArea):
    """Items, one under the other.

    Signals:
        tick_asked: key of the item that a person says is done.
        exceptions_changed: a reason was written or taken away.
    """

    tick_asked = Signal(str)
    exceptions_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("Checklist")
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._rows: tuple[ChecklistRow, ...] = ()
        self._reasons: dict[str, QLineEdit] = {}

    def show_rows(self, rows: Sequence[ChecklistRow]) -> None:
        """Show these items; reasons that were written stay."""
        if tuple(rows) == self._rows:
            return
        written, scrolled = self.exceptions(), self.verticalScrollBar().value()
        focused = next((key for key, line in self._reasons.items() if line.hasFocus()), "")
        self._rows, self._reasons = tuple(rows), {}
        page = QWidget()
        layout = QVBoxLayout(page)
        layout.setSpacing(10)
        for row in rows:
            layout.addLayout(self._item(row, written.get(row.key, "")))
            rule = QFrame()
            rule.setFrameShape(QFrame.Shape.HLine)
            layout.addWidget(rule)
        layout.addStretch(1)
        self.setWidget(page)
        self.verticalScrollBar().setValue(scrolled)
        if focused in self._reasons:
            self._reasons[focused].setFocus()

    def exceptions(self) -> dict[str, str]:
        """Return the reasons that were written, by item."""
        written = {key: line.text().strip() for key, line in self._reasons.items()}
        return {key: text for key, text in written.items() if text}

    def _item(self, row: ChecklistRow, written: str) -> QHBoxLayout:
        line = QHBoxLayout()
        line.addWidget(StateGlyph(row.state), 0, Qt.AlignmentFlag.AlignTop)
        words = QVBoxLayout()
        for text in (row.text, f"{row.word}: {row.reason}"):
            label = QLabel(text)
            label.setWordWrap(True)
            words.addWidget(label)
        if row.can_except:
            words.addWidget(self._reason_line(row, written))
        line.addLayout(words, 1)
        if row.can_tick:
            button = QPushButton("Done")
            button.setAccessibleName(f"Done: {row.text}")
            button.clicked.connect(lambda _=False, key=row.key: self.tick_asked.emit(key))
            line.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        return line

    def _reason_line(self, row: ChecklistRow, written: str) -> QLineEdit:
        edit = QLineEdit(written)
        edit.setPlaceholderText("Why it is accepted all the same")
        edit.setAccessibleName(f"Exception, why it is accepted all the same: {row.text}")
        edit.textChanged.connect(self.exceptions_changed)
        self._reasons[row.key] = edit
        return edit
