"""Deciding about an item that is open: keep what was found, take what was planned, or another value."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QLineEdit, QWidget

from fleet.jobs.deciding import value_from_text
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.journal import Change
from fleet.model.sheets import Comparison, Value
from ui.bridge.session import Session
from ui.presenters.words import item_words, unit_hint, value_words
from ui.windows.dialog_parts import TroubleLine, buddied, button, follow, set_out, wrapped


class DecideDialog(QDialog):
    """Keep, go back, or take another value, with a reason.

    Signals:
        back_to_plan: it was decided to write what was planned, or what is planned from now on.
    """

    back_to_plan = Signal()

    def __init__(
        self, session: Session, change: Change, by: str, parent: QWidget | None = None
    ) -> None:
        """Ask about one change."""
        super().__init__(parent)
        self._session, self._change, self._by = session, change, by
        self.setWindowTitle("Decide")
        self.reason = QLineEdit()
        self.reason.setAccessibleName("Reason of the decision")
        self.reason.setPlaceholderText("for example: the client asked for it")
        self.value = QLineEdit()
        self.value.setAccessibleName("Another value, in the unit of the sheet")
        self.value.setPlaceholderText(f"another value{unit_hint(change.key)}")
        self.trouble = TroubleLine()
        found = value_words(change.key, change.found)
        planned = value_words(change.key, change.planned)
        left = value_words(change.key, change.as_left)
        self.keep = button(f"Keep {found}", f"Keep what was found: {found}")
        self.back = button(f"Back to {planned}", f"Back to what was planned: {planned}")
        self.other = button("Take this value", "Plan and write the value that is typed")
        label = QLabel("&Reason")
        label.setBuddy(self.reason)
        buttons = QHBoxLayout()
        cancel = button("Leave it open")
        for widget in (cancel, self.keep, self.back):
            buttons.addWidget(widget)
        another = QHBoxLayout()
        another.addWidget(buddied("Another &value", self.value))
        another.addWidget(self.value)
        another.addWidget(self.other)
        set_out(
            self,
            wrapped(f"{change.label}: {item_words(change.key)}", points=14, bold=True),
            wrapped(f"As left {left}; found {found}; planned {planned}."),
            label,
            self.reason,
            another,
            self.trouble,
            buttons,
        )
        self.keep.clicked.connect(lambda: self._decide(keep_found=True))
        self.back.clicked.connect(lambda: self._decide(keep_found=False))
        self.other.clicked.connect(self._decide_other)
        cancel.clicked.connect(self.reject)

    def _decide_other(self) -> None:
        change = self._change
        item = Comparison(
            change.key, change.planned, change.found, change.as_left, standing=change.standing
        )
        try:
            value = value_from_text(item, self.value.text())
        except PlanError as reason:
            self.trouble.tell(reason)
            return
        self._decide(keep_found=False, value=value)

    def _decide(self, *, keep_found: bool, value: Value | None = None) -> None:
        reason, change, by = self.reason.text().strip(), self._change, self._by
        if not reason:
            self.trouble.say("Nothing was decided: write down why.")
            return
        operation = self._session.run(
            lambda visit: visit.decide(
                change.serial, change.key, keep_found=keep_found, reason=reason, by=by, value=value
            )
        )
        follow(
            self._session,
            operation,
            self,
            lambda _: self._finish(keep_found=keep_found),
            self._fail,
        )

    def _finish(self, *, keep_found: bool) -> None:
        if not keep_found:
            self.back_to_plan.emit()
        self.accept()

    def _fail(self, error: WalkdownError) -> None:
        self.trouble.tell(error)
