"""A table of units with a tick for taking part, and another for lying on the bench."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from ui.presenters.campaign_plan_rows import UNIT_HEADINGS, UnitChoice

_CHOSEN = "QTableView::item:selected { background: palette(highlight); color: palette(highlighted-text); }"
_TICK_PX = 48
_TAKES_PART, _ON_BENCH = 0, len(UNIT_HEADINGS) - 1


class UnitTicks(QTableWidget):
    """Units with two ticks each; Space ticks the cell that the keyboard is at.

    Signals:
        ticks_changed: something was ticked or unticked.
    """

    ticks_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(0, len(UNIT_HEADINGS), parent)
        self.setAccessibleName("Units that take part")
        self.setHorizontalHeaderLabels(list(UNIT_HEADINGS))
        self.verticalHeader().hide()
        self.setStyleSheet(_CHOSEN)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Fixed)
        self.setColumnWidth(0, self.fontMetrics().horizontalAdvance("U000") + _TICK_PX)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._choices: tuple[UnitChoice, ...] = ()
        self.itemChanged.connect(lambda _: self.ticks_changed.emit())

    def show_choices(self, choices: Sequence[UnitChoice]) -> None:
        """Show these units."""
        self.blockSignals(True)  # noqa: FBT003 - Qt's own call
        self._choices = tuple(choices)
        self.setRowCount(len(self._choices))
        for number, choice in enumerate(self._choices):
            for column, text in enumerate((*choice.cells, "")):
                self.setItem(number, column, _cell(text))
            self._make_tick(number, _TAKES_PART, f"{choice.label} takes part", on=choice.ticked)
            self._make_tick(number, _ON_BENCH, f"{choice.label} lies on the bench", on=False)
        if self._choices:
            self.setCurrentCell(0, _TAKES_PART)
        self.blockSignals(False)  # noqa: FBT003 - Qt's own call

    def chosen(self) -> tuple[str, ...]:
        """Return the serials of the units that take part."""
        return self._ticked(_TAKES_PART)

    def on_bench(self) -> tuple[str, ...]:
        """Return the serials of those of them that lie on the bench."""
        taking_part = self.chosen()
        return tuple(serial for serial in self._ticked(_ON_BENCH) if serial in taking_part)

    def _ticked(self, column: int) -> tuple[str, ...]:
        return tuple(
            choice.serial
            for number, choice in enumerate(self._choices)
            if (item := self.item(number, column)) and item.checkState() is Qt.CheckState.Checked
        )

    def _make_tick(self, row: int, column: int, said: str, *, on: bool) -> None:
        item = self.item(row, column)
        if item is None:
            return
        item.setFlags(
            Qt.ItemFlag.ItemIsEnabled
            | Qt.ItemFlag.ItemIsSelectable
            | Qt.ItemFlag.ItemIsUserCheckable
        )
        item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        item.setData(Qt.ItemDataRole.AccessibleTextRole, said)


def _cell(text: str) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    item.setToolTip(text)
    return item
