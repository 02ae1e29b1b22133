"""What has to be seen at once, over everything else: a unit that shows another certificate."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QWidget

from fleet.model.meeting import ChangedCertificate
from fleet.model.snapshot import ItemState
from ui.presenters.fingerprints import without_fingerprints
from ui.widgets.state_glyph import StateGlyph
from ui.widgets.theme import text_font


class ShoutBand(QFrame):
    """A band from side to side; hidden while nothing has to be shouted.

    Signals:
        look_asked: the ChangedCertificate that it shows.
    """

    look_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Say nothing."""
        super().__init__(parent)
        self.setObjectName("shout")
        self._shown: tuple[ChangedCertificate, ...] = ()
        self.words = QLabel()
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setWordWrap(True)
        self.words.setFont(text_font(12.0, strong=True))
        self.look = QPushButton("Look at it …")
        self.look.setAccessibleName("Look at the certificate that changed")
        self.look.setAutoDefault(False)
        self.look.clicked.connect(self._ask)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 6, 16, 6)
        layout.addWidget(StateGlyph(ItemState.WRONG))
        layout.addWidget(self.words, 1)
        layout.addWidget(self.look)
        self.hide()

    def show_changed(self, changed: tuple[ChangedCertificate, ...]) -> None:
        """Shout the first, and how many more there are."""
        self._shown = changed
        self.setVisible(bool(changed))
        if changed:
            more = f" (and {len(changed) - 1} more)" if len(changed) > 1 else ""
            self.words.setText(f"{without_fingerprints(changed[0].said)}{more}")

    def _ask(self) -> None:
        for first in self._shown[:1]:
            self.look_asked.emit(first)
