"""Parts that the dialogs share: wrapped text, headings, a line that says what went wrong, cautions."""

from collections.abc import Callable, Iterable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from fleet.model.errors import WalkdownError
from fleet.model.snapshot import ItemState
from ui.bridge.operation import Operation
from ui.bridge.session import Session
from ui.widgets.state_glyph import StateGlyph
from ui.widgets.theme import figure_font, text_font

FIGURE_POINTS = 13.0
_SAID_LATER_PX = 40


def wrapped(text: str, *, points: int = 0, bold: bool = False) -> QLabel:
    """Return a label whose text goes over as many lines as it needs."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.NoTextInteraction)
    font = QFont(label.font())
    if points:
        font.setPointSize(points)
    font.setBold(bold)
    label.setFont(font)
    return label


def banner(name: str, state: ItemState) -> tuple[QFrame, QLabel]:
    """Return a framed band with a glyph, hidden, and its words."""
    band, words = QFrame(), QLabel()
    band.setObjectName(name)
    words.setTextFormat(Qt.TextFormat.PlainText)
    words.setWordWrap(True)
    words.setFont(text_font(11.0, strong=True))
    line = QHBoxLayout(band)
    line.addWidget(StateGlyph(state), 0, Qt.AlignmentFlag.AlignTop)
    line.addWidget(words, 1)
    band.hide()
    return band, words


def figures_label(figures: str, said: str = "") -> QLabel:
    """Return a label of figures that are compared sign by sign, never broken but where they say so."""
    label = QLabel(figures)
    label.setFont(figure_font(FIGURE_POINTS))
    label.setMinimumSize(label.sizeHint())
    label.setAccessibleName(f"{said}: {figures}" if said else figures)
    return label


def button(text: str, said: str = "", *, default: bool = False) -> QPushButton:
    """Return a button with an accessible name."""
    made = QPushButton(text)
    made.setAccessibleName(said or text)
    made.setDefault(default)
    made.setAutoDefault(default)
    return made


def caution_box(texts: Iterable[str]) -> QFrame:
    """Return the cautions, framed."""
    box = QFrame()
    box.setObjectName("cautions")
    box.setFrameShape(QFrame.Shape.Box)
    layout = QVBoxLayout(box)
    layout.addWidget(wrapped("Cautions", bold=True))
    for text in texts:
        layout.addWidget(wrapped(text))
    return box


def scrolling(inner: QWidget, name: str) -> QScrollArea:
    """Return a widget that scrolls where the screen is too small for it."""
    area = QScrollArea()
    area.setAccessibleName(name)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(inner)
    return area


def follow(
    session: Session,
    operation: Operation,
    dialog: QDialog,
    done: Callable[[Any], object],
    failed: Callable[[WalkdownError], object],
) -> None:
    """Have a dialog told how its work ended; one that was closed meanwhile leaves errors to the foot.

    Args:
        session: tells an error that no dialog shows any more.
        operation: the work.
        dialog: may be gone when the work ends.
        done: takes what the work returned.
        failed: takes the error.
    """

    def tell_done(result: object) -> None:
        if isValid(dialog) and dialog.isVisible():
            done(result)

    def tell_failed(error: WalkdownError) -> None:
        if isValid(dialog) and dialog.isVisible():
            failed(error)
        else:
            session.failed.emit(error)

    operation.done.connect(tell_done)
    operation.failed.connect(tell_failed)


def rule() -> QFrame:
    """Return a thin line from side to side."""
    line = QFrame()
    line.setFrameShape(QFrame.Shape.HLine)
    return line


def buddied(text: str, edit: QWidget) -> QLabel:
    """Return a label whose letter after & takes the keyboard to what it names."""
    label = QLabel(text)
    label.setBuddy(edit)
    return label


class TroubleLine(QLabel):
    """Says what went wrong, what stands and what to do next; hidden while all is well."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Say nothing."""
        super().__init__(parent)
        self.setObjectName("trouble")
        self.setWordWrap(True)
        self.setAccessibleName("What went wrong")
        self.hide()

    def tell(self, error: WalkdownError) -> None:
        """Say an error."""
        self.say(f"◆ Could not be done. {error}")

    def say(self, text: str) -> None:
        """Say a sentence; "" hides the line."""
        self.setText(text)
        self.setVisible(bool(text))


def set_out(dialog: QDialog, *parts: QWidget | QLayout, stretched: int = -1) -> QVBoxLayout:
    """Lay parts under each other; the one of index `stretched` takes what is left."""
    layout = QVBoxLayout(dialog)
    layout.setContentsMargins(20, 16, 20, 16)
    layout.setSpacing(10)
    for number, part in enumerate(parts):
        stretch = 1 if number == stretched else 0
        if isinstance(part, QWidget):
            layout.addWidget(part, stretch)
        else:
            layout.addLayout(part, stretch)
    return layout


def keep_together(dialog: QDialog, width_px: int) -> None:
    """Keep the parts of a dialog close to each other, at a width, in all the height that they need.

    Height that is left over goes above the buttons; some is left for what is said later.
    """
    layout = dialog.layout()
    if isinstance(layout, QVBoxLayout):
        layout.insertStretch(layout.count() - 1, 1)
        dialog.setMinimumSize(width_px, layout.totalHeightForWidth(width_px) + _SAID_LATER_PX)


class Noted(QWidget):
    """A sentence that somebody should look at, with the glyph that says so; hidden without words."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        """Say it."""
        super().__init__(parent)
        self.words = wrapped(text)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(StateGlyph(ItemState.LOOK), 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self.words, 1)
        if not text:  # a widget without a parent that is shown becomes a window
            self.hide()
