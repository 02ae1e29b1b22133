"""Two units that say one serial: which of them is the one on the schedule."""

from PySide6.QtWidgets import QButtonGroup, QDialog, QHBoxLayout, QRadioButton, QVBoxLayout, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.meeting import Expected
from ui.bridge.session import Session
from ui.widgets.meeting_list import LEAST_HEIGHT_PX
from ui.windows.dialog_parts import TroubleLine, button, follow, keep_together, set_out, wrapped
from ui.windows.place_dialog import IDENTIFY_S


class DoubleDialog(QDialog):
    """Choose by address; the one in use can be made to blink first."""

    def __init__(
        self, session: Session, lines: tuple[Expected, ...], parent: QWidget | None = None
    ) -> None:
        """Show who says the serial.

        Args:
            session: the engine.
            lines: the lines of one serial, the one in use first.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._serial = session, lines[0].serial
        self.setWindowTitle("Two units, one serial")
        self.choices = QButtonGroup(self)
        self._addresses = [line.address for line in lines]
        self.trouble, self.said = TroubleLine(), wrapped("")
        self.said.hide()
        self.blink = button(f"Blink {IDENTIFY_S} s", "Have the unit in use blink")
        self.use = button("Use this one", "Use the unit at this address", default=True)
        self.use.setEnabled(False)
        self._lay_out(lines)
        self.choices.idClicked.connect(lambda _: self.use.setEnabled(True))
        self.blink.clicked.connect(self._ask_blink)
        self.use.clicked.connect(self._ask_use)

    def _lay_out(self, lines: tuple[Expected, ...]) -> None:
        column = QVBoxLayout()
        for number, line in enumerate(lines):
            choice = QRadioButton(f"{line.address or 'address not known'} · {line.state}")
            choice.setAccessibleName(choice.text())
            choice.setMinimumHeight(LEAST_HEIGHT_PX)
            self.choices.addButton(choice, number)
            column.addWidget(choice)
        close, buttons = button("Leave it open"), QHBoxLayout()
        close.clicked.connect(self.reject)
        buttons.addWidget(self.blink)
        buttons.addStretch(1)
        buttons.addWidget(close)
        buttons.addWidget(self.use)
        said = next((line.said for line in reversed(lines) if line.said), "")
        set_out(
            self,
            wrapped(f"Two units say the serial {self._serial}", points=16, bold=True),
            wrapped(said or "Only the first that was met is used."),
            wrapped("Have the one in use blink: if it is the unit on the wall, keep its address."),
            column,
            wrapped(
                "The other one is left alone. Its serial has to be put right in the unit itself."
            ),
            self.said,
            self.trouble,
            buttons,
        )
        keep_together(self, 560)

    def _ask_blink(self) -> None:
        serial = self._serial
        operation = self._session.run(lambda visit: visit.identify(serial, IDENTIFY_S))
        follow(self._session, operation, self, lambda _: self._say_blinks(), self.trouble.tell)

    def _say_blinks(self) -> None:
        self.said.setText("The one in use shows itself now.")
        self.said.show()

    def _ask_use(self) -> None:
        serial, by = self._serial, self._session.by
        address = self._addresses[self.choices.checkedId()]
        if address == self._addresses[0]:  # it is in use already: nothing is to be changed
            self.accept()
            return
        self.use.setEnabled(False)
        operation = self._session.run(lambda visit: visit.settle_double(serial, address, by=by))
        follow(self._session, operation, self, lambda _: self.accept(), self._fail)

    def _fail(self, error: WalkdownError) -> None:
        self.use.setEnabled(True)
        self.trouble.tell(error)
