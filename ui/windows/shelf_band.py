"""Whose key signed the shelf that was opened: whether it is used, its fingerprint, a person's word."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from fleet.engine.shelf_keys import ShelfLook
from fleet.model.snapshot import ItemState
from ui.presenters.fingerprints import grouped
from ui.presenters.key_words import TRUST, WITHDRAW, shelf_said
from ui.widgets.state_glyph import StateGlyph
from ui.widgets.theme import figure_font
from ui.windows.dialog_parts import FIGURE_POINTS, button, wrapped


class ShelfBand(QFrame):
    """Words, fingerprint where it is to be compared, and one button; hidden before a shelf is open.

    Signals:
        trust_asked, withdraw_asked: fingerprint of the key.
    """

    trust_asked = Signal(str)
    withdraw_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self._fingerprint = ""
        self.glyph, self.words, self.figures = StateGlyph(ItemState.LOOK), wrapped(""), QLabel()
        self.figures.setFont(figure_font(FIGURE_POINTS))
        self.figures.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.trust = button(f"{TRUST} …", "Trust the key that signed this shelf")
        self.withdraw = button(f"{WITHDRAW} …", "Withdraw trust in the key that signed this shelf")
        texts, line = QVBoxLayout(), QHBoxLayout(self)
        texts.addWidget(self.words)
        texts.addWidget(self.figures)
        texts.addStretch(1)
        line.addWidget(self.glyph, 0, Qt.AlignmentFlag.AlignTop)
        line.addLayout(texts, 1)
        for one in (self.trust, self.withdraw):
            line.addWidget(one, 0, Qt.AlignmentFlag.AlignBottom)
        self.trust.clicked.connect(lambda: self.trust_asked.emit(self._fingerprint))
        self.withdraw.clicked.connect(lambda: self.withdraw_asked.emit(self._fingerprint))
        self.hide()

    def show_look(self, look: ShelfLook) -> None:
        """Say whether the shelf may be used; the fingerprint stands there while it may not."""
        said, figures = shelf_said(look), grouped(look.fingerprint)
        self._fingerprint = look.fingerprint
        self.words.setText(said.text)
        self.glyph.show_state(said.state or ItemState.LOOK)
        self.figures.setText(figures)
        self.figures.setAccessibleName(f"Fingerprint of the key: {figures}")
        self.figures.setVisible(not look.trusted)
        self.trust.setVisible(not look.trusted)
        self.withdraw.setVisible(look.trusted)
        self.setObjectName("" if look.trusted else "notice")  # framed while it wants attention
        self.style().polish(self)
        self.show()
