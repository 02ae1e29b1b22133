"""Sentences behind a count at the foot: weak ways into units, or what went wrong."""

from collections.abc import Sequence

from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from fleet.model.snapshot import ItemState
from ui.widgets.state_glyph import StateGlyph
from ui.windows.dialog_parts import button, scrolling, set_out, wrapped


class NoticesDialog(QDialog):
    """A list to be read."""

    def __init__(
        self,
        title: str,
        sentences: Sequence[str],
        *,
        lead: str = "",
        state: ItemState = ItemState.LOOK,
        parent: QWidget | None = None,
    ) -> None:
        """Show sentences.

        Args:
            title: what they are about.
            sentences: what is said, one under the other.
            lead: a sentence before them.
            state: the glyph beside each.
            parent: the window.
        """
        super().__init__(parent)
        self.setWindowTitle(title)
        page = QWidget()
        column = QVBoxLayout(page)
        column.setSpacing(12)
        for sentence in sentences:
            line = QHBoxLayout()
            line.addWidget(StateGlyph(state))
            line.addWidget(wrapped(sentence), 1)
            column.addLayout(line)
        column.addStretch(1)
        self.close_it = button("Close", default=True)
        self.close_it.clicked.connect(self.accept)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self.close_it)
        heading = wrapped(title, points=16, bold=True)
        parts = [heading, wrapped(lead)] if lead else [heading]
        set_out(self, *parts, scrolling(page, title), buttons, stretched=len(parts))
        self.resize(640, 420)
