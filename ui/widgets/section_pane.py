"""Sentences in sections under headings, that scroll where they don't fit; keys scroll them too."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from ui.presenters.said_parts import Said, Section, sections_words
from ui.widgets.state_glyph import GLYPH_PX, StateGlyph
from ui.widgets.theme import TEXT_POINTS, text_font

_GAP_PX = 8


class SectionPane(QScrollArea):
    """Headings with glyphs and sentences below them."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        """Show nothing yet; `name` is its accessible name."""
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._sections: tuple[Section, ...] = ()

    def show_sections(self, sections: Sequence[Section]) -> None:
        """Show these, from the top."""
        if tuple(sections) == self._sections:
            return
        self._sections = tuple(sections)
        page = QWidget()
        layout = QVBoxLayout(page)
        layout.setContentsMargins(0, 0, _GAP_PX, 0)
        layout.setSpacing(4)
        for section in sections:
            layout.addWidget(_heading(section.title))
            for said in section.lines:
                layout.addLayout(_line(said))
            layout.addSpacing(_GAP_PX)
        layout.addStretch(1)
        self.setWidget(page)
        self.setAccessibleDescription(sections_words(sections))

    def texts(self) -> dict[str, tuple[str, ...]]:
        """Return what is shown, heading → sentences."""
        return {one.title: tuple(line.text for line in one.lines) for one in self._sections}


def _heading(title: str) -> QLabel:
    label = QLabel(title)
    label.setFont(text_font(TEXT_POINTS + 1, strong=True))
    label.setWordWrap(True)
    return label


def _line(said: Said) -> QHBoxLayout:
    line = QHBoxLayout()
    line.setSpacing(_GAP_PX)
    text = QLabel(said.text)
    text.setTextFormat(Qt.TextFormat.PlainText)
    text.setWordWrap(True)
    if said.state is None:
        line.addSpacing(GLYPH_PX + _GAP_PX)
    else:
        line.addWidget(StateGlyph(said.state), 0, Qt.AlignmentFlag.AlignTop)
    line.addWidget(text, 1)
    return line
