"""What can be done with a unit as a whole, under its own view: where from, restore, swap."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QWidget

from ui.bridge.session import Session
from ui.windows.dialog_parts import button
from ui.windows.origins_dialog import OriginsDialog
from ui.windows.restore_dialog import RestoreDialog, Review
from ui.windows.swap_dialog import SwapDialog


class UnitBar(QWidget):
    """Three buttons for the unit that is shown.

    Signals:
        origins_asked, restore_asked, swap_asked: serial of the unit.
    """

    origins_asked = Signal(str)
    restore_asked = Signal(str)
    swap_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Belong to no unit yet."""
        super().__init__(parent)
        self.serial = ""
        self.origins = button("Where from …", "Where the planned values come from")
        self.restore = button("Restore …", "Restore the unit to a kept sheet")
        self.swap = button("Swap …", "Swap the unit or its module")
        line = QHBoxLayout(self)
        line.setContentsMargins(8, 6, 8, 6)
        for one, signal in (
            (self.origins, self.origins_asked),
            (self.restore, self.restore_asked),
            (self.swap, self.swap_asked),
        ):
            line.addWidget(one)
            one.clicked.connect(lambda _=False, each=signal: each.emit(self.serial))
        line.addStretch(1)
        self.show_unit("")

    def show_unit(self, serial: str) -> None:
        """Be about a unit of the schedule; "" for one that has no place yet."""
        self.serial = serial
        self.setVisible(bool(serial))


class UnitSteps(QObject):
    """Opens the dialogs of a unit."""

    def __init__(
        self,
        session: Session,
        bar: UnitBar,
        *,
        window: QWidget,
        open_dialog: Callable[[QDialog], None],
        review: Review,
        say: Callable[[str], None],
    ) -> None:
        """Connect the buttons.

        Args:
            session: the engine.
            bar: the buttons.
            window: parent of the dialogs.
            open_dialog: opens one.
            review: opens the review of some changes.
            say: says a sentence at the foot.
        """
        super().__init__(window)
        self._session, self._window = session, window
        self._open, self._review, self._say = open_dialog, review, say
        bar.origins_asked.connect(self.show_origins)
        bar.restore_asked.connect(self.ask_restore)
        bar.swap_asked.connect(self.ask_swap)

    def show_origins(self, serial: str) -> None:
        """Show where a unit's planned values come from."""
        self._open(OriginsDialog(self._session, serial, self._label(serial), self._window))

    def ask_restore(self, serial: str) -> None:
        """Offer to bring a unit back to a kept sheet."""
        self._open(
            RestoreDialog(self._session, serial, self._label(serial), self._review, self._window)
        )

    def ask_swap(self, serial: str) -> None:
        """Offer to swap a unit or its module."""
        house, label = self._session.house, self._label(serial)
        if house is None:
            return
        dialog = SwapDialog(self._session, house, serial, label, self._window)
        dialog.accepted.connect(
            lambda: self._say(f"{label} is swapped: review what is to be written to it.")
        )
        self._open(dialog)

    def ask_swap_of(self, label: str) -> None:
        """The same for the unit of a label."""
        house = self._session.house
        units = house.units.items() if house is not None else ()
        serial = next((key for key, unit in units if unit.line.label == label), "")
        if serial:
            self.ask_swap(serial)

    def _label(self, serial: str) -> str:
        house = self._session.house
        unit = house.units.get(serial) if house is not None else None
        return unit.line.label if unit is not None else serial
