"""What an apply that was cut off left in doubt, said at the start and settled by reading."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QWidget

from fleet.engine.applying import StepResult
from fleet.model.errors import WalkdownError
from fleet.model.journal import OpenStep
from ui.bridge.session import Session
from ui.presenters.doubt_rows import doubt_words
from ui.presenters.review_rows import outcome_rows
from ui.windows.dialog_parts import TroubleLine, button, follow, scrolling, set_out, wrapped

SCAN_S = 10.0


class DoubtfulDialog(QDialog):
    """Steps of which nobody knows yet whether they were done."""

    def __init__(
        self, session: Session, steps: tuple[OpenStep, ...], parent: QWidget | None = None
    ) -> None:
        """Show the steps."""
        super().__init__(parent)
        self._session = session
        self.setWindowTitle("In doubt")
        self.said = wrapped("\n\n".join(doubt_words(step) for step in steps))
        self.said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.trouble = TroubleLine()
        self.settle = button("Scan, and settle by reading", default=True)
        close = button("Later")
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(close)
        buttons.addWidget(self.settle)
        set_out(
            self,
            wrapped("An apply was cut off", points=16, bold=True),
            wrapped("It is in doubt whether these writes were done. Reading the units tells."),
            scrolling(self.said, "Steps in doubt"),
            self.trouble,
            buttons,
            stretched=2,
        )
        self.resize(640, 360)
        self.settle.clicked.connect(self._ask_settle)
        close.clicked.connect(self.reject)

    def _ask_settle(self) -> None:
        self.settle.setEnabled(False)
        scan = self._session.run(lambda visit: visit.scan(SCAN_S))
        follow(self._session, scan, self, lambda _: self._read(), self._fail)

    def _read(self) -> None:
        operation = self._session.run(lambda visit: visit.settle())
        follow(self._session, operation, self, self._tell, self._fail)

    def _tell(self, results: tuple[StepResult, ...]) -> None:
        self.said.setText("\n\n".join(f"{row.text}. {row.said}" for row in outcome_rows(results)))
        self.settle.setEnabled(True)

    def _fail(self, error: WalkdownError) -> None:
        self.settle.setEnabled(True)
        self.trouble.tell(error)
