"""Deciding about an item that somebody changed on site: keep what was found, or go back to the plan."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QLineEdit, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.journal import Change
from ui.bridge.session import Session
from ui.presenters.words import item_words, value_words
from ui.windows.dialog_parts import TroubleLine, button, follow, set_out, wrapped


class DecideDialog(QDialog):
    """Keep or go back, with a reason.

    Signals:
        back_to_plan: it was decided to write what was planned.
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
        self.trouble = TroubleLine()
        found = value_words(change.key, change.found)
        planned = value_words(change.key, change.planned)
        left = value_words(change.key, change.as_left)
        self.keep = button(f"Keep {found}", f"Keep what was found: {found}")
        self.back = button(f"Back to {planned}", f"Back to what was planned: {planned}")
        label = QLabel("&Reason")
        label.setBuddy(self.reason)
        buttons = QHBoxLayout()
        cancel = button("Leave it open")
        for widget in (cancel, self.keep, self.back):
            buttons.addWidget(widget)
        set_out(
            self,
            wrapped(f"{change.label}: {item_words(change.key)}", points=14, bold=True),
            wrapped(f"As left {left}; found {found}; planned {planned}."),
            label,
            self.reason,
            self.trouble,
            buttons,
        )
        self.keep.clicked.connect(lambda: self._decide(keep_found=True))
        self.back.clicked.connect(lambda: self._decide(keep_found=False))
        cancel.clicked.connect(self.reject)

    def _decide(self, *, keep_found: bool) -> None:
        reason, change, by = self.reason.text().strip(), self._change, self._by
        if not reason:
            self.trouble.say("Nothing was decided: write down why.")
            return
        operation = self._session.run(
            lambda visit: visit.decide(
                change.serial, change.key, keep_found=keep_found, reason=reason, by=by
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
