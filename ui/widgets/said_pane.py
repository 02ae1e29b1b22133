"""The unit's own words: everything that it says, in groups, with its age where that matters."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QScrollArea, QWidget

from fleet.model.snapshot import ItemState, LiveUnit
from fleet.model.units import Reading
from ui.presenters.said_rows import SaidGroup, SaidRow, said_groups
from ui.presenters.words import breakable
from ui.widgets.state_glyph import StateGlyph
from ui.widgets.theme import soften

REST_MS = 250
"""A person reads four figures a second at most, and laying out costs more than painting."""
_NAME_SHARE, _VALUE_SHARE = 2, 3


class SaidPane(QScrollArea):
    """Groups of lines, one under the other; keys scroll it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("What the unit says")
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumWidth(280)
        self.viewport().setAutoFillBackground(True)
        self._reading: Reading | None = None
        self._live: LiveUnit | None = None
        self._groups: tuple[SaidGroup, ...] = ()
        self._values: list[QLabel] = []
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(self._show)

    def show_reading(self, reading: Reading | None) -> None:
        """Show what was read of a unit; what the one before reported is forgotten."""
        other = reading is None or self._reading is None or reading.serial != self._reading.serial
        self._reading = reading
        if other:
            self._live = None
            self.verticalScrollBar().setValue(0)
        self._show()

    def set_live(self, live: LiveUnit | None) -> None:
        """Show what it reports now, a quarter of a second later at most."""
        first = self._live is None
        self._live = live
        if first:
            self._show()
        elif not self._rest.isActive():
            self._rest.start()

    def lines(self) -> dict[str, str]:
        """Return what is shown, name → value, for a test or a screen reader."""
        return {row.name or row.value: row.value for group in self._groups for row in group.rows}

    def _show(self) -> None:
        groups = said_groups(self._reading, self._live)
        if groups == self._groups:
            return
        if _names(groups) == _names(self._groups):
            for label, row in zip(self._values, _rows(groups), strict=True):
                _say(label, row)
        else:
            self._lay_out(groups)
        self._groups = groups
        self.setAccessibleDescription(
            ". ".join(f"{row.name} {row.value}".strip() for row in _rows(groups))
        )

    def _lay_out(self, groups: Sequence[SaidGroup]) -> None:
        scrolled = self.verticalScrollBar().value()
        page = QWidget()
        grid = QGridLayout(page)
        grid.setContentsMargins(10, 4, 8, 8)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(0, _NAME_SHARE)
        grid.setColumnStretch(1, _VALUE_SHARE)
        self._values = []
        for group in groups:
            _add_heading(grid, group)
            for row in group.rows:
                self._values.append(_add_row(grid, row))
        grid.setRowStretch(grid.rowCount(), 1)
        self.setWidget(page)
        self.verticalScrollBar().setValue(scrolled)


def _add_heading(grid: QGridLayout, group: SaidGroup) -> None:
    label = _wrapped(group.title)
    font = QFont(label.font())
    font.setBold(True)
    label.setFont(font)
    label.setContentsMargins(0, 8, 0, 0)
    at = grid.rowCount()
    if group.look:
        grid.addWidget(StateGlyph(ItemState.LOOK), at, 1, Qt.AlignmentFlag.AlignRight)
        grid.addWidget(label, at, 0, 1, 2)
    else:
        grid.addWidget(label, at, 0, 1, 2)


def _add_row(grid: QGridLayout, row: SaidRow) -> QLabel:
    at, value = grid.rowCount(), _wrapped("")
    _say(value, row)
    if not row.name:
        grid.addWidget(value, at, 0, 1, 2)
        return value
    name = _wrapped(row.name)
    soften(name)
    grid.addWidget(name, at, 0, Qt.AlignmentFlag.AlignTop)
    grid.addWidget(value, at, 1, Qt.AlignmentFlag.AlignTop)
    return value


def _say(label: QLabel, row: SaidRow) -> None:
    value = breakable(row.value)
    if label.text() != value:
        label.setText(value)
    font = QFont(label.font())
    if font.italic() != row.old:
        font.setItalic(row.old)
        label.setFont(font)


def _wrapped(text: str) -> QLabel:
    label = QLabel(breakable(text))
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    return label


def _rows(groups: Sequence[SaidGroup]) -> list[SaidRow]:
    return [row for group in groups for row in group.rows]


def _names(groups: Sequence[SaidGroup]) -> list[tuple[str, tuple[str, ...]]]:
    return [(group.title, tuple(row.name for row in group.rows)) for group in groups]
